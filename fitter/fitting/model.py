"""The harmonic model of one sweep and its least-squares fit.

m = c + sum_k (a_k cos k th + b_k sin k th) + extra columns: the first harmonic is the eccentricity,
the higher ones are form, and extras are what else may move the dial (drift, a knock, the sense of
turning, another mounting). How many harmonics the stations can carry is decided here, from geometry
alone.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import TooFewStations
from ..numeric.basis import Floats
from ..reading.stations import MOST_HARMONICS, Stations

ARC_CONDITION = 45.0
"""Condition number above which even the first harmonic is not to be told from the constant: about
60 degrees of arc. (Three readings within 10 degrees once "measured" twenty times the truth.)"""

FORM_CONDITION = 30.0
"""Condition number above which a form harmonic costs more certainty than it gives: about 150 degrees
of arc for the second."""

_MANY = 400
"""Rows beyond which their triangle is looked at in their place, which is the quicker way."""


DESIGN_CONDITION = 1000.0
"""Condition number of all columns together, scaled to equal length, above which some of them are one and
the same for these stations (a judgement; drift beside a knock comes to about 20)."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A fitted model.

    design: rows, shape (n, p): harmonics first, extras last.
    coefficients: c, a1, b1, a2, b2 ... extras, shape (p,), mm.
    unscaled: (X'X)^-1.
    residuals: mm, shape (n,).
    freedom: n - p.
    condition: of the columns scaled to equal length.
    """

    harmonics: int
    design: Floats
    coefficients: Floats
    unscaled: Floats
    residuals: Floats
    residual_sum: float
    freedom: int
    condition: float

    def harmonic(self, k: int) -> tuple[float, float]:
        """Coefficients (a_k, b_k) of cos k th and sin k th, mm."""
        return float(self.coefficients[2 * k - 1]), float(self.coefficients[2 * k])

    def residual_sd(self) -> float | None:
        """Standard deviation of a station about the model, mm; None with no station to spare."""
        return math.sqrt(self.residual_sum / self.freedom) if self.freedom > 0 else None

    def extras(self) -> Floats:
        """Coefficients of the extra columns."""
        return self.coefficients[1 + 2 * self.harmonics :]


def supported_harmonics(stations: Stations, extras: int = 0, triangle: Floats | None = None) -> int:
    """How many harmonics these stations can separate, beside `extras` more columns; at least 1.

    A third of the stations, but at least three, are kept back to judge scatter, where there are so
    many. triangle: of their basis, where it is known: its first columns stand for the first of all rows.
    Raises TooFewStations where they cannot even carry the first harmonic.
    """
    places = len(stations.places())
    table = stations.basis if triangle is None else triangle
    if len(table) > _MANY:
        _, table = np.linalg.qr(table)
    if places < 3 or _conditioned(table[:, :3]) > ARC_CONDITION:
        raise TooFewStations(places, stations.largest_gap())
    harmonics = 1
    spare = max(3, len(stations) // 3) + extras
    while harmonics < MOST_HARMONICS:
        unknowns = 1 + 2 * (harmonics + 1)
        if places < unknowns or len(stations) < unknowns + spare:
            break
        if _conditioned(table[:, :unknowns]) > FORM_CONDITION:
            break
        harmonics += 1
    return harmonics


def carried_harmonics(stations: Stations, extras: Sequence[Floats]) -> int:
    """`supported_harmonics`, less those that cannot be told from the extra columns themselves; at least 1."""
    harmonics = supported_harmonics(stations, len(extras))
    while extras and harmonics > 1 and not is_separable(stations, harmonics, extras):
        harmonics -= 1
    return harmonics


def is_separable(stations: Stations, harmonics: int, extras: Sequence[Floats]) -> bool:
    """Whether the columns of a model are different ones at these stations, and no more than they are."""
    design = harmonic_design(stations, harmonics, extras)
    if len(design) > _MANY:
        _, design = np.linalg.qr(design)
    return _conditioned(design) < DESIGN_CONDITION


def harmonic_design(stations: Stations, harmonics: int, extras: Sequence[Floats] = ()) -> Floats:
    """Rows of the model, shape (n, 1 + 2 harmonics + extras)."""
    return np.column_stack([stations.basis[:, : 1 + 2 * harmonics], *extras])


def fit(stations: Stations, harmonics: int, extras: Sequence[Floats] = ()) -> Fit:
    """Least-squares fit with every station of equal weight."""
    design = harmonic_design(stations, harmonics, extras)
    Q, R = np.linalg.qr(design)
    coefficients = np.linalg.solve(R, Q.T @ stations.value)
    residuals = stations.value - design @ coefficients
    inverse = np.linalg.inv(R)
    return Fit(
        harmonics=harmonics,
        design=design,
        coefficients=coefficients,
        unscaled=inverse @ inverse.T,
        residuals=residuals,
        residual_sum=float(residuals @ residuals),
        freedom=len(design) - design.shape[1],
        condition=_conditioned(R),
    )


def _conditioned(columns: Floats) -> float:
    """Condition number of columns scaled to equal length; inf for fewer rows than columns."""
    lengths = np.sqrt((columns * columns).sum(axis=0))
    if len(columns) < columns.shape[1] or lengths.min() == 0.0:
        return math.inf
    singular = np.linalg.svd(columns / lengths, compute_uv=False)
    return float(singular[0] / singular[-1]) if singular[-1] > 0.0 else math.inf
