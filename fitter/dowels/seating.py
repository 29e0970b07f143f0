"""Does the housing go on over a pair of dowels that people have set, and where does the bore then lie? Both
are computed together.

Each dowel's offset and angle miss a little. What they miss moves the bore (T) and pulls the two holes
together or apart along their line (the bind b), and the same slip does both, so the chance of going on
AND ending inside is not the product of the two. To first order in the slips T and b are jointly normal:

    P = integral over b of p(b) P(|E + T| <= L/2 given b)

Two ways of setting. "tight": each dowel stays where its mark was put, and the housing goes on only if
|b| is within the clearance of the holes. "free": where it does not, the dowels are turned by the least
rotation that brings the bind within the clearance, marks are looked at and the dowels locked; what the
turning does to the bore is counted.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..certainty.decision import chances_within
from ..geometry import direction
from ..numeric.basis import Floats
from ..numeric.quantiles import normal_below
from .kit import Way
from .measurement import Measurement
from .pins import Pins
from .setting import DowelSetting

MOST_TURN_DEG: Final = 30.0
"""A dowel that would have to be turned farther than this off its mark is not helped home any more
(common practice, no source)."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(7)
_PANELS: Final = np.array([-6.0, -3.0, -1.5, -0.5, 0.5, 1.5, 3.0, 6.0])
"""Between which the bind is gone over, in its standard deviations."""

_TOLD: Final = 1e-9
"""Chance of a panel of the bind that is worth going over."""

Rows = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Slips:
    """How well dowels are made and set, and what their holes allow.

    offset_sd: of a dowel's true offset, mm.
    setting_sd: of its angle, degrees.
    clearance: bind that the two holes allow together, mm.
    way: of setting.
    """

    offset_sd: float
    setting_sd: float
    clearance: float
    way: Way = "tight"


@dataclass(frozen=True, slots=True)
class Seating:
    """How a setting may end.

    goes_on: chance that the housing slides home.
    inside: chance that it does and ends within the limit.
    """

    goes_on: float
    inside: float


@dataclass(frozen=True, slots=True)
class Ends:
    """Where n settings of a pair may carry the bore, bind by bind.

    spread: of the shift where the bind is known, mm^2, (n, 2, 2); by_setting: all of it.
    row: which setting goes on with a bind, (m,); share: how likely it does, and with that bind.
    shift: of the bore then, mm, (m, 2).
    """

    spread: Floats
    by_setting: Floats
    row: Rows
    share: Floats
    shift: Floats


def seating(known: Measurement, limit: float, setting: DowelSetting, pins: Pins, slips: Slips) -> Seating:
    """Chances of a pair. known: E before. limit: permitted run-out (TIR), mm."""
    ends = seated([setting], pins, slips)
    if not len(ends.row):
        return Seating(0.0, 0.0)
    freedom = three_digits(known.spread(ends.by_setting[0]).freedom)
    centres = known.vector + ends.shift
    chances = chances_within(limit / 2.0, centres, known.covariance + ends.spread[0], freedom)
    goes_on = float(ends.share.sum())
    return Seating(min(goes_on, 1.0), min(float(ends.share @ chances), goes_on, 1.0))


def three_digits(freedom: float) -> float:
    """More are not known of it, and settings that share them share a table."""
    return float(f"{freedom:.3g}")


def seated(settings: Sequence[DowelSetting], pins: Pins, slips: Slips, told: float = _TOLD) -> Ends:
    """The ends of settings of a pair, to first order in the slips: two offsets, then two angles. told: share
    of a panel of the bind below which it is left out."""
    d = np.array([setting.offsets for setting in settings])
    rad = np.deg2rad([setting.degrees for setting in settings])
    along, angle = pins.axes()[0], math.radians(slips.setting_sd)
    high = np.stack([np.sin(rad), np.cos(rad)], axis=-1)
    across = np.stack([np.cos(rad), -np.sin(rad)], axis=-1) * d[:, :, None]
    A, pull = np.stack(pins.influence()), np.array([-1.0, 1.0])
    slopes = np.concatenate([np.einsum("kij,nkj->nki", A, each) for each in (high, across)], axis=1)
    gradients = np.concatenate([pull * (each @ along) for each in (high, across)], axis=1)
    variance = np.array([slips.offset_sd**2] * 2 + [angle * angle] * 2)
    # An angle that misses either way carries a little less on average: E cos = 1 - variance / 2.
    carried = d * (1.0 - angle * angle / 2.0)
    shift = np.einsum("nk,nki->ni", carried, slopes[:, :2])
    bind = (carried * gradients[:, :2]).sum(axis=1)
    varied = slopes * variance[:, None]
    by_setting = np.einsum("nji,njk->nik", varied, slopes)
    bind_var = np.maximum(gradients**2 @ variance, 1e-18)
    carries = np.einsum("nji,nj->ni", varied, gradients) / bind_var[:, None]
    reach = _reach(d, np.rad2deg(rad) - direction(float(along[0]), float(along[1])), slips)
    row, binds, share = _over_bind(bind, np.sqrt(bind_var), slips.clearance, reach, told)
    beyond = binds - np.clip(binds, -slips.clearance, slips.clearance)
    moved = shift[row] + (binds - bind[row])[:, None] * carries[row]
    return Ends(
        # What is left to chance once the bind is known.
        spread=by_setting - bind_var[:, None, None] * carries[:, :, None] * carries[:, None, :],
        by_setting=by_setting,
        row=row,
        share=share,
        shift=moved + _helped(gradients[row, 2:], slopes[row, 2:], beyond),
    )


def _reach(d: Floats, off: Floats, slips: Slips) -> Floats:
    """The binds between which the housing goes on, mm, (2, n): those of the holes, and what turning can take
    away. d: offsets, mm; off: of the high sides from the line of the pins, degrees; (n, 2) each."""
    if slips.way == "tight":
        return np.full((2, len(d)), slips.clearance) * [[-1.0], [1.0]]
    off = np.abs((off + 180.0) % 360.0 - 180.0)
    now = d * np.cos(np.deg2rad(off))
    less = now - d * np.cos(np.deg2rad(np.minimum(off + MOST_TURN_DEG, 180.0)))
    more = d * np.cos(np.deg2rad(np.maximum(off - MOST_TURN_DEG, 0.0))) - now
    # Pulled apart, the second must come back or the first go after it; pushed together, the other way.
    return np.array([-(slips.clearance + less[:, 0] + more[:, 1]), slips.clearance + more[:, 0] + less[:, 1]])


def _helped(turning: Floats, slopes: Floats, beyond: Floats) -> Floats:
    """How turning the dowels by the least rotation that takes `beyond`, mm, (m,), off the bind moves the
    bore, mm, (m, 2). turning, slopes: of bind (m, 2) and bore (m, 2, 2) by the angles.

    High sides along the line of the pins have no lever to first order; they turn either way, and what that
    moves comes to nothing on average.
    """
    size = (turning * turning).sum(axis=1)
    turned = (beyond != 0.0) & (np.abs(beyond) <= math.radians(MOST_TURN_DEG / 2.0) * np.sqrt(size))
    part = np.divide(-beyond, size, out=np.zeros(len(beyond)), where=turned)
    moved: Floats = np.einsum("mk,mki->mi", turning, slopes) * part[:, None]
    return moved


def _over_bind(
    bind: Floats, sd: Floats, clearance: float, reach: Floats, told: float
) -> tuple[Rows, Floats, Floats]:
    """Nodes over the binds at which the housing goes on: whose, where (mm), and their normal probabilities,
    (m,). bind, sd: mm, (n,)."""
    low, high = reach[0][:, None], reach[1][:, None]
    panels = bind[:, None] + sd[:, None] * _PANELS
    holes = np.full((len(sd), 2), clearance) * [-1.0, 1.0]
    edges = np.sort(np.clip(np.concatenate([panels, holes, low, high], axis=1), low, high))
    share = np.diff(normal_below((edges - bind[:, None]) / sd[:, None]))
    row, panel = np.nonzero(share > told)
    begin, end, share = edges[row, panel], edges[row, panel + 1], share[row, panel][:, None]
    b = ((begin + end) / 2.0)[:, None] + ((end - begin) / 2.0)[:, None] * _NODES
    density = np.exp(-0.5 * ((b - bind[row][:, None]) / sd[row][:, None]) ** 2) * _WEIGHTS
    # The panel's probability is exact; the nodes only share it out.
    shares = share * density / density.sum(axis=1, keepdims=True)
    return np.repeat(row, len(_NODES)), b.ravel(), shares.ravel()
