"""The harmonic model of one sweep and its least-squares fit.

m = c + sum_k (a_k cos k th + b_k sin k th): the first harmonic is the eccentricity, the others
are form. How many harmonics the stations can carry is decided here, from geometry alone.
"""

import math
from dataclasses import dataclass

import numpy as np

from .basis import Floats
from .errors import TooFewStations
from .leastsquares import LeastSquares
from .stations import MOST_HARMONICS, Stations

ARC_CONDITION = 45.0
"""Condition number above which even the first harmonic is not to be told from the constant: about
60 degrees of arc. (Three readings within 10 degrees once "measured" twenty times the truth.)"""

FORM_CONDITION = 10.0
"""Condition number above which a form harmonic costs more certainty than it gives."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A fitted model. coefficients: c, a1, b1, a2, b2 ... in mm, shape (p,). unscaled: their
    covariance for observations of unit variance, (p, p). residuals: mm, shape (n,).
    freedom: degrees of freedom. condition: of the columns scaled to equal length.
    """

    harmonics: int
    coefficients: Floats
    unscaled: Floats
    residuals: Floats
    residual_sum: float
    freedom: int
    condition: float

    def harmonic(self, k: int) -> tuple[float, float]:
        """Coefficients (a_k, b_k) of cos k th and sin k th, mm."""
        return float(self.coefficients[2 * k - 1]), float(self.coefficients[2 * k])


def supported_harmonics(stations: Stations) -> int:
    """How many harmonics these stations can separate; at least 1.

    Two stations more than unknowns are kept back to judge scatter, where there are that many.
    Raises TooFewStations where they cannot even carry the first harmonic.
    """
    places = len(stations.places())
    condition = math.inf
    if places >= 3:
        condition = _factor(stations, 1).condition()
    if condition > ARC_CONDITION:
        raise TooFewStations(places, stations.largest_gap())
    harmonics = 1
    while harmonics < MOST_HARMONICS and places >= 2 * (harmonics + 1) + 4:
        if _factor(stations, harmonics + 1).condition() > FORM_CONDITION:
            break
        harmonics += 1
    return harmonics


def fit(stations: Stations, harmonics: int) -> Fit:
    """Least-squares fit with every station of equal weight."""
    factor = _factor(stations, harmonics)
    return fit_from(factor, stations, harmonics)


def fit_from(factor: LeastSquares, stations: Stations, harmonics: int) -> Fit:
    """The fit that a factor of these stations' rows holds."""
    coefficients = factor.solve()
    residuals = stations.value - stations.basis[:, : 1 + 2 * harmonics] @ coefficients
    return Fit(
        harmonics=harmonics,
        coefficients=coefficients,
        unscaled=factor.unscaled_covariance(),
        residuals=residuals,
        residual_sum=factor.residual_sum,
        freedom=factor.freedom,
        condition=factor.condition(),
    )


def rows(stations: Stations, harmonics: int) -> list[list[float]]:
    """Rows for LeastSquares: basis values, reading, weight 1."""
    basis = stations.basis[:, : 1 + 2 * harmonics]
    table: list[list[float]] = np.column_stack([basis, stations.value, np.ones(len(stations))]).tolist()
    return table


def _factor(stations: Stations, harmonics: int) -> LeastSquares:
    factor = LeastSquares(1 + 2 * harmonics)
    factor.add_rows(rows(stations, harmonics))
    return factor
