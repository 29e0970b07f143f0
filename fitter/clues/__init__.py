"""What in the stations themselves speaks against them: a tip off the surface, a dial on hold, a crank that
was not turned, a unit or an angle that is not what was said. Facts only; `fitter.withheld` says what
follows."""
