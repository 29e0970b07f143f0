"""Of many settings of a pair, how likely each is to go on and end within the limit, at most.

`fitter.dowels.seating` has the chance itself, at a hundred times the cost: it is worked out only for those
that may be among the best. Here it is the same sum over the bind, of all settings at once, and the chance of
ending within a disc is taken round the centre. In the measure of its covariance a bivariate Student vector
has any direction alike, and lies beyond a radius r with probability (1 + r^2 / f)^(-f / 2), so

    P = mean over directions of what lies between the two ends of the disc's chord that way

and a mean over evenly spread directions converges faster than any power of their number. How much that of
every second one differs is taken as the error.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..certainty.freedom import welch_satterthwaite
from ..geometry import direction
from ..numeric.basis import Floats
from ..numeric.quantiles import MANY, normal_below
from .pins import Pins
from .seating import MOST_TURN_DEG, NODES, PANELS, WEIGHTS, Slips, three_digits
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
Rows = NDArray[np.intp]
Known = tuple[Floats, Floats, float]
"""Vector (2,) in mm, covariance (2, 2) in mm^2, degrees of freedom."""


@dataclass(frozen=True, slots=True)
class _Many:
    """`seating._Linear` of many settings, and the binds within which the housing goes on.

    shift (n, 2) and bind (n,), mm; slopes (n, 4, 2) and gradients (n, 4), by two offsets and two angles;
    variance (4,); reach (2, n), mm.
    """

    shift: Floats
    bind: Floats
    slopes: Floats
    gradients: Floats
    variance: Floats
    reach: Floats

    @classmethod
    def of(cls, settings: Sequence[DowelSetting], pins: Pins, slips: Slips) -> "_Many":
        d = np.array([setting.offsets for setting in settings])
        rad = np.deg2rad([setting.degrees for setting in settings])
        along, angle = pins.axes()[0], math.radians(slips.setting_sd)
        high = np.stack([np.sin(rad), np.cos(rad)], axis=-1)
        across = np.stack([np.cos(rad), -np.sin(rad)], axis=-1) * d[:, :, None]
        A, pull = np.stack(pins.influence()), np.array([-1.0, 1.0])
        slopes = np.concatenate([np.einsum("kij,nkj->nki", A, each) for each in (high, across)], axis=1)
        gradients = np.concatenate([pull * (each @ along) for each in (high, across)], axis=1)
        set_so = d * (1.0 - angle * angle / 2.0)
        return cls(
            shift=np.einsum("nk,nki->ni", set_so, slopes[:, :2]),
            bind=(set_so * gradients[:, :2]).sum(axis=1),
            slopes=slopes,
            gradients=gradients,
            variance=np.array([slips.offset_sd**2] * 2 + [angle * angle] * 2),
            reach=_reach(d, np.rad2deg(rad) - direction(float(along[0]), float(along[1])), slips),
        )

    def helped(self, rows: Rows, beyond: Floats) -> Floats:
        """How turning that takes `beyond` off the bind moves the bore, mm, (m, 2); rows: which settings."""
        turning = self.gradients[rows, 2:]
        size = (turning * turning).sum(axis=1)
        turned = (beyond != 0.0) & (np.abs(beyond) <= math.radians(MOST_TURN_DEG / 2.0) * np.sqrt(size))
        part = np.divide(-beyond, size, out=np.zeros(len(beyond)), where=turned)
        moved: Floats = np.einsum("mk,mki->mi", turning, self.slopes[rows, 2:]) * part[:, None]
        return moved


def upper_bounds(
    known: Known, limit: float, settings: Sequence[DowelSetting], pins: Pins, slips: Slips
) -> Floats:
    """For each setting a probability that its own does not exceed, (n,). limit: permitted run-out, mm TIR."""
    vector, covariance, freedom = known
    many = _Many.of(settings, pins, slips)
    carried = many.slopes * many.variance[:, None]
    spread = np.einsum("nji,njk->nik", carried, many.slopes)
    bind_var = np.maximum(many.gradients**2 @ many.variance, 1e-18)
    carries = np.einsum("nji,nj->ni", carried, many.gradients) / bind_var[:, None]
    rest = covariance + spread - bind_var[:, None, None] * carries[:, :, None] * carries[:, None, :]
    by_setting, measured = np.trace(spread, axis1=1, axis2=2).tolist(), float(np.trace(covariance))
    freedoms = [welch_satterthwaite([measured, added], [freedom, math.inf]) for added in by_setting]
    told = np.array([min(three_digits(each), MANY) for each in freedoms])
    row, binds, shares = _over_bind(many, np.sqrt(bind_var), slips.clearance)
    beyond = binds - np.clip(binds, -slips.clearance, slips.clearance)
    centres = vector + many.shift[row] + (binds - many.bind[row])[:, None] * carries[row]
    centres = centres + many.helped(row, beyond)
    within, error = _within(limit / 2.0, centres, _factors(rest, 1e-9 * limit)[row], told[row])
    most = np.bincount(row, shares * np.minimum(within + error, 1.0), len(settings))
    return np.asarray(most + _ALLOWED, dtype=np.float64)


def _reach(d: Floats, off: Floats, slips: Slips) -> Floats:
    """`seating._reach` of many; off: of the high sides from the line of the pins, degrees."""
    if slips.way == "tight":
        return np.full((2, len(d)), slips.clearance) * [[-1.0], [1.0]]
    off = np.abs((off + 180.0) % 360.0 - 180.0)
    now = d * np.cos(np.deg2rad(off))
    less = now - d * np.cos(np.deg2rad(np.minimum(off + MOST_TURN_DEG, 180.0)))
    more = d * np.cos(np.deg2rad(np.maximum(off - MOST_TURN_DEG, 0.0))) - now
    return np.array([-(slips.clearance + less[:, 0] + more[:, 1]), slips.clearance + more[:, 0] + less[:, 1]])


def _over_bind(many: _Many, sd: Floats, clearance: float) -> tuple[Rows, Floats, Floats]:
    """Nodes over the binds at which the housing goes on: whose, where (mm), and their probabilities, (m,)."""
    low, high = many.reach[0][:, None], many.reach[1][:, None]
    panels = many.bind[:, None] + sd[:, None] * PANELS
    holes = np.full((len(sd), 2), clearance) * [-1.0, 1.0]
    edges = np.sort(
        np.concatenate([np.clip(panels, low, high), np.clip(holes, low, high), low, high], axis=1)
    )
    share = np.diff(normal_below((edges - many.bind[:, None]) / sd[:, None]))
    row, panel = np.nonzero(share > _TOLD)
    begin, end, share = edges[row, panel], edges[row, panel + 1], share[row, panel][:, None]
    b = ((begin + end) / 2.0)[:, None] + ((end - begin) / 2.0)[:, None] * NODES
    density = np.exp(-0.5 * ((b - many.bind[row][:, None]) / sd[row][:, None]) ** 2) * WEIGHTS
    shares = share * density / density.sum(axis=1, keepdims=True)
    return np.repeat(row, len(NODES)), b.ravel(), shares.ravel()


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


def _factors(covariances: Floats, least: float) -> Floats:
    """Lower triangular factors, (n, 2, 2); least: what a standard deviation of nothing is taken for, mm."""
    factors = np.zeros_like(covariances)
    factors[:, 0, 0] = np.sqrt(np.maximum(covariances[:, 0, 0], least**2))
    factors[:, 1, 0] = covariances[:, 0, 1] / factors[:, 0, 0]
    factors[:, 1, 1] = np.sqrt(np.maximum(covariances[:, 1, 1] - factors[:, 1, 0] ** 2, least**2))
    return factors


def _farther(radius: Floats, freedom: Floats) -> Floats:
    """Probability that lies beyond a radius, in the measure of the covariance."""
    beyond: Floats = np.exp(-freedom / 2.0 * np.log1p(radius * radius / freedom))
    return beyond
