"""A bore with a dial in it, and the aim of a sweep of it, for tests of tapping."""

import math

import numpy as np

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.analysis import corrected
from coaxly.fitter.nudge import Aim
from coaxly.fitter.units import MM_PER_THOU as THOU

EIGHT = np.arange(0.0, 360.0, 45.0)


def reads(centre, deg, *, sign=-1.0, oval=0.4 * THOU, mean=0.8, sag=0.0):
    """The dial's reading at `deg`, mm."""
    rad = math.radians(deg)
    return (
        mean
        + sign * (centre[0] * math.sin(rad) + centre[1] * math.cos(rad))
        + sign * sag * math.cos(rad)
        + oval * math.cos(2.0 * rad - 1.0)
    )


def aim(centre, setup=None, **how):
    fitter = Fitter(setup or Setup())
    for k, deg in enumerate(EIGHT):
        fitter.add_station(float(deg), np.array([reads(centre, deg, **how)]), np.array([float(k)]))
    return Aim.of(fitter.setup, fitter.result(), corrected(fitter.setup, fitter.stations()))
