"""A housing without dowels is tapped into place: how far it still has to go, from one reading of the dial.

The crank is parked with the dial at `deg`, and the housing moved. Where the bore stands E off the crank
the dial reads m(deg) = c + sign E.u(deg) + form(deg) (`fitter.meaning`); with E gone it reads c + form. So
what it reads above that, turned by the sign, is how far the housing has to go towards `deg`; parked at the
high point that is all of E, and a quarter turn on nothing. The form, the sag and what the crank rests low by
come from the last sweep; a dial that was set anew since shifts all readings alike, and one reading before the
bolts are slackened tells by how much (`shift`).
"""

import math
from dataclasses import dataclass

import numpy as np

from .geometry import Vector, unit
from .meaning import Meaning
from .numeric.basis import Floats, harmonic_rows
from .reading import corrections
from .reading.setup import Setup
from .reading.stations import Stations
from .result import Result

_MOST_HARMONICS = 4


@dataclass(frozen=True, slots=True, eq=False)
class Aim:
    """What a dial should read.

    setup: that of the sweep.
    vector: E, mm, as swept.
    sd: standard deviation of E towards any direction at worst, mm.
    high_deg: the high point, internal degrees.
    coefficients: of the readings as the dial gives them, c, a1, b1, a2, b2 ..., mm.
    """

    setup: Setup
    vector: Vector
    sd: float
    high_deg: float
    coefficients: Floats

    @classmethod
    def of(cls, setup: Setup, result: Result, stations: Stations) -> "Aim":
        """From a sweep. stations: corrected (`fitter.analysis.corrected`)."""
        ecc = result.eccentricity
        places = len(np.unique(np.round(stations.deg % 360.0, 1)))
        harmonics = max(1, min(_MOST_HARMONICS, (places - 2) // 2))
        fitted, *_ = np.linalg.lstsq(harmonic_rows(stations.deg, harmonics), stations.value, rcond=None)
        coefficients: Floats = np.asarray(fitted, dtype=np.float64)
        droop = corrections.droop(setup)
        coefficients[1] += droop[0]
        coefficients[2] += droop[1]
        sd = math.sqrt(float(np.linalg.eigvalsh(np.array(ecc.covariance))[-1]))
        return cls(setup, ecc.vector, sd, ecc.high_deg, coefficients)

    def expected(self, deg: float) -> float:
        """What the dial reads at `deg` with the housing as it was swept, mm."""
        row = harmonic_rows(np.array([deg]), (len(self.coefficients) - 1) // 2)[0]
        return float(row @ self.coefficients)

    def wanted(self, deg: float) -> float:
        """What it reads there once the bore is centred, mm."""
        x, y = unit(deg)
        return self.expected(deg) - Meaning.of(self.setup).sign * (self.vector[0] * x + self.vector[1] * y)

    def shift(self, deg: float, reading: float) -> float:
        """By how much the dial reads more than in the sweep, mm: it was set anew, or the housing moved."""
        return reading - self.expected(deg)

    def to_go(self, deg: float, reading: float, shift: float) -> float:
        """How far the housing has to go towards `deg`, mm; negative: away from it."""
        return -Meaning.of(self.setup).sign * (reading - shift - self.wanted(deg))
