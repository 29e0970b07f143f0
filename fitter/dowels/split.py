"""Split pairs: two dowels of unlike size or angle, which reach what no parallel pair can.

For each pair of sizes the angles are found on a grid, and refined by ever finer grids around the best; the
aim is what is left of the offset squared plus what setting errors will add. What a dowel does at an angle is
worked out once, for all angles of the other.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from ..numeric.basis import Floats
from .kit import Kit
from .pins import Pins
from .setting import DowelSetting

_COARSE_DEG = 5.0
_ZOOMS = 5
_ZOOM_POINTS = 5

_BIND_SHARES = (0.1, 1.0)
"""Shares of the holes' clearance within which the bind on paper is kept while angles are looked for."""

_TOGETHER = 32
"""Pairs of sizes whose coarse grids are looked at in one go: about what a processor keeps near."""


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What is sought: the least of E (vector, mm), with no more turn of the housing than that (radians), for
    angles that vary by setting_sd radians."""

    vector: Floats
    pins: Pins
    turn_limit: float
    setting_sd: float

    def scores(self, d: Floats, first: Floats, second: Floats) -> tuple[Floats, Floats]:
        """What is left squared and its variance, mm^2, inf where the housing would turn too far; and the
        bind, mm: (pairs, first, second) each. d: sizes, (pairs, 2); first, second: degrees of each dowel,
        (pairs, angles)."""
        A1, A2 = self.pins.influence()
        s1, moved1, swing1 = _carried(d[:, 0], first, A1)
        s2, moved2, swing2 = _carried(d[:, 1], second, A2)
        begun, nowhere = self.vector + moved1, np.zeros(2)
        x, y = (begun[:, :, None, k] + moved2[:, None, :, k] for k in range(2))
        score = x * x + y * y + self.setting_sd**2 * (swing1[:, :, None] + swing2[:, None, :])
        turn, bind = (
            np.abs(apart(nowhere, s2)[:, None, :] - apart(nowhere, s1)[:, :, None])
            for apart in (self.pins.turn, self.pins.bind)
        )
        score[turn > self.turn_limit] = np.inf
        return score, bind


def best_of_kit(
    vector: Floats, kit: Kit, pins: Pins, allowed: tuple[float, float], setting_sd: float
) -> list[DowelSetting]:
    """`best_settings` of all pairs of sizes that are at hand. allowed: bind (mm) and turn (radians)."""
    singles, twice = kit.singles(), set(kit.pairs())
    sizes = [(a, b) for a, b in product(singles, singles) if a != b or a in twice]
    # The least run-out often lies where the pair just goes in, and hands miss: with less bind allowed on
    # paper it may leave a little more and go on far oftener.
    clearances = [share * allowed[0] for share in _BIND_SHARES]
    return list(dict.fromkeys(best_settings(vector, sizes, pins, clearances, allowed[1], setting_sd)))


def best_settings(
    vector: Floats,
    size_pairs: Sequence[tuple[float, float]],
    pins: Pins,
    clearances: Sequence[float],
    turn_limit: float,
    setting_sd: float,
) -> list[DowelSetting]:
    """The best angles for each pair of sizes, in the order given, for the first of the clearances and then
    for the others; pairs that cannot go in are left out.

    vector: E, mm. clearances: binds that the holes may allow, mm. turn_limit: of the housing, radians.
    setting_sd: spread of the angle that a dowel is turned to, radians.
    """
    wanted = _Wanted(vector, pins, turn_limit, setting_sd)
    found: list[list[DowelSetting]] = [[] for _ in clearances]
    for start in range(0, len(size_pairs), _TOGETHER):
        sizes = size_pairs[start : start + _TOGETHER]
        for one, (first, second, possible) in zip(
            found, _refined(wanted, np.array(sizes), clearances), strict=True
        ):
            one += [DowelSetting(sizes[k], (float(first[k]), float(second[k]))) for k in possible]
    return [setting for one in found for setting in one]


def _refined(
    wanted: _Wanted, d: Floats, clearances: Sequence[float]
) -> Iterator[tuple[Floats, Floats, list[int]]]:
    """For each clearance the best angles of the pairs (degrees), and which of them go in at all. d: sizes,
    (pairs, 2)."""
    coarse = np.broadcast_to(np.arange(0.0, 360.0, _COARSE_DEG), (len(d), round(360.0 / _COARSE_DEG)))
    looked = wanted.scores(d, coarse, coarse)
    for clearance in clearances:
        at1, at2, possible = _best(coarse, coarse, looked, clearance)
        width = _COARSE_DEG
        for _ in range(_ZOOMS):
            steps = np.linspace(-width, width, 2 * _ZOOM_POINTS + 1)
            first, second = at1[:, None] + steps, at2[:, None] + steps
            at1, at2, possible = _best(first, second, wanted.scores(d, first, second), clearance)
            width /= _ZOOM_POINTS
        yield at1, at2, possible


def _best(
    first: Floats, second: Floats, looked: tuple[Floats, Floats], clearance: float
) -> tuple[Floats, Floats, list[int]]:
    """The angles of the least score of each pair, and which pairs go in there."""
    scores = np.where(looked[1] <= clearance, looked[0], np.inf).reshape(len(first), -1)
    rows, best = np.arange(len(first)), np.argmin(scores, axis=1)
    i, j = np.divmod(best, second.shape[1])
    return first[rows, i], second[rows, j], np.flatnonzero(np.isfinite(scores[rows, best])).tolist()


def _carried(size: Floats, deg: Floats, A: Floats) -> tuple[Floats, Floats, Floats]:
    """Of one dowel of each pair at some angles: where it carries its hole, and the bore, mm, (pairs, angles,
    2) each; and the variance of the latter for an angle a radian off, mm^2."""
    rad = np.deg2rad(deg)
    shift = size[:, None, None] * np.stack([np.sin(rad), np.cos(rad)], axis=-1)
    turned = size[:, None, None] * np.stack([np.cos(rad), -np.sin(rad)], axis=-1) @ A.T
    return shift, shift @ A.T, (turned * turned).sum(axis=-1)
