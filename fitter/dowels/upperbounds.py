"""Of many settings of a pair, how likely each is to go on and end within the limit, at most.

`fitter.dowels.seating` has the chance itself, at a hundred times the cost: it is worked out only for those
that may be among the best. Here the chance of ending within a disc is taken round the centre. In the measure
of its covariance a bivariate Student vector has any direction alike, and lies beyond a radius r with
probability (1 + r^2 / f)^(-f / 2), so

    P = mean over directions of what lies between the two ends of the disc's chord that way

and a mean over evenly spread directions converges faster than any power of their number. How much that of
every second one differs is taken as the error.
"""

import math
from collections.abc import Sequence

import numpy as np

from ..numeric.basis import Floats
from ..numeric.quantiles import MANY
from .measurement import Measurement
from .pins import Pins
from .seating import Slips, seated, three_digits
from .setting import DowelSetting

_DIRECTIONS = 32
_FEW = 6
"""Directions that have to meet the disc for their mean to be trusted."""

_AT_THE_EDGE = 0.5
"""Standard deviations from the edge of the disc, from where on the mean over directions may be one off."""

_LONG = 0.25
"""Of a covariance one way of which is known four times as well as the other: area by variance."""

_ALLOWED = 1e-4
"""More than rounding and the shares of the bind below _TOLD come to."""

_TOLD = 1e-6


def upper_bounds(
    known: Measurement, limit: float, settings: Sequence[DowelSetting], pins: Pins, slips: Slips
) -> Floats:
    """For each setting a probability that its own does not exceed, (n,). limit: permitted run-out, mm TIR."""
    ends = seated(settings, pins, slips, _TOLD)
    told = [min(three_digits(known.spread(each).freedom), MANY) for each in ends.by_setting]
    # A standard deviation of nothing is taken for next to nothing.
    spread = known.covariance + ends.spread + (1e-9 * limit) ** 2 * np.eye(2)
    factors = np.asarray(np.linalg.cholesky(spread), dtype=np.float64)
    within, error = _within(
        limit / 2.0, known.vector + ends.shift, factors[ends.row], np.array(told)[ends.row]
    )
    most = np.bincount(ends.row, ends.share * np.minimum(within + error, 1.0), len(settings))
    return np.asarray(most + _ALLOWED, dtype=np.float64)


def _within(radius: float, centres: Floats, factors: Floats, freedoms: Floats) -> tuple[Floats, Floats]:
    """Probabilities of lying within `radius` of the origin, and their errors, (m,). centres: (m, 2); factors:
    lower triangular ones of the covariances, (m, 2, 2)."""
    th = np.arange(_DIRECTIONS) * (2.0 * math.pi / _DIRECTIONS)
    ux = factors[:, :1, 0] * np.cos(th)
    uy = factors[:, 1:, 0] * np.cos(th) + factors[:, 1:, 1] * np.sin(th)
    x, y = centres[:, :1], centres[:, 1:]
    square, middle = ux * ux + uy * uy, -(ux * x + uy * y)
    inside = radius * radius - x * x - y * y
    root = np.sqrt(np.maximum(middle * middle + square * inside, 0.0))
    each = 1.0 - _farther(np.maximum(middle + root, 0.0) / square, freedoms[:, None])
    out = np.flatnonzero(inside[:, 0] < 0.0)
    each[out] -= 1.0 - _farther(np.maximum(middle - root, 0.0)[out] / square[out], freedoms[out, None])
    whole = each.mean(axis=1)
    error = np.abs(each[:, ::2].mean(axis=1) - whole)
    # At the edge and from outside, and where one way is known far better than the other, the mean may miss
    # what lies between two directions, or meet no disc at all.
    variance, area = (factors * factors).sum(axis=(1, 2)), factors[:, 0, 0] * factors[:, 1, 1]
    edge = (np.hypot(x, y)[:, 0] - radius) / np.sqrt(variance)
    missed = (edge > -_AT_THE_EDGE) | (area < _LONG * variance)
    error += np.where(missed, 2.0 * each.max(axis=1) / _DIRECTIONS, 0.0)
    unseen = (edge > 0.0) & ((each > 0.0).sum(axis=1) < _FEW)
    return whole, np.where(unseen, _farther(np.maximum(edge, 0.0), freedoms), error)


def _farther(radius: Floats, freedom: Floats) -> Floats:
    """Probability that lies beyond a radius, in the measure of the covariance."""
    beyond: Floats = np.exp(-freedom / 2.0 * np.log1p(radius * radius / freedom))
    return beyond
