"""Angles that cannot be right: counts taken for degrees, wrong counts a turn, a counter that wrapped or was
reset.

Readings that hardly change from one moment to the next, and yet disagree wildly with the angle they came
with, repeat with another angle: one that runs by a factor, or jumps.
"""

from typing import Final, Literal

import numpy as np

from ..numeric.basis import Floats, harmonic_rows, spanned
from ..reading.displaystep import count_of
from ..reading.setup import Setup
from ..reading.stations import MOST_HARMONICS, Stations, sectors_of
from ..result import Remark
from ..units import MM_PER_THOU

_ORDERS: Final = 3
_BAD_SHARE: Final = 0.25
_BAD_MM: Final = 0.3 * MM_PER_THOU
"""What is left of the readings, as a share of their spread and in mm, from which the angle is looked at."""

_WILD_SHARE, _WILD_MM = 0.5, 1.0 * MM_PER_THOU
"""The same with all the lobes that a bore may have, where no other angle explains it either."""

_BETTER: Final = 4.0
"""Times by which another angle must leave less."""

_ROUND_DEG: Final = 300.0
"""Angle from which a crank came round."""

_LEAP, _LEAP_DEG = 4.0, 25.0
"""Times what the other sectors show, and angle, by which no crank goes on from one reading to the next."""

_STEPS: Final = 1.5
"""Steps of the display that readings of one sector scatter by where the dial goes on by one and flickers."""

_READ_TWICE: Final = 4
"""Places, each a sector, at which a burr or a pause makes no readings scatter so, however often passed."""

_REPEATED: Final = 0.1
"""Share of what repeats that everything else is, if the angle runs so many times too slow."""

_ROWS: Final = 720

_ALIKE: Final = 1e-9
"""Square of what of a knock no lobes are, below which they are the same."""

_GONE: Final = 3
"""Sectors that were passed, from which a way is one."""

Turn = Literal["cw", "ccw"]
"""Which way the crank is turned, seen from behind the engine."""


def angles(setup: Setup, stations: Stations) -> list[Remark]:
    """That the angle is not that of the crank, of a sweep read in passing."""
    if not stations.continuous or len(stations) < 2 * (1 + 2 * _ORDERS):
        return []
    kept = stations.take(slice(0, _ROWS))
    way, value = _way(kept), kept.value
    swing = float(np.std(value))
    came_round = float(np.ptp(way)) >= _ROUND_DEG
    left = _left(way, value, _ORDERS if came_round else 1)
    if _leapt(kept, count_of(setup, kept)):
        return [_wrong("jump", left)]
    if came_round and (times := _repeats(way, value)):
        return [_wrong("factor", swing, float(times))]
    if left < max(_BAD_MM, _BAD_SHARE * swing):
        return []
    factor, by_factor = _by_factor(way, value)
    by_jump = _by_jump(way, value)
    smooth = float(np.mean(np.diff(value) ** 2)) ** 0.5 < 0.5 * swing
    if min(by_factor, by_jump) * _BETTER < left:
        return [_wrong("factor", left, factor) if by_factor <= by_jump else _wrong("jump", left)]
    if smooth and _beside_a_knock(way, value) > max(_WILD_MM, _WILD_SHARE * swing):
        return [_wrong("unlike", left)]
    return []


def wrong_way(setup: Setup, stations: Stations, turn: Turn) -> list[Remark]:
    """That the angle went all the time against the way in which the crank is turned. turn: that way, seen
    from behind."""
    way = 1 if (turn == "cw") != setup.part_turns else -1
    gone = stations.sense[stations.sense != 0]
    if not stations.continuous or len(gone) < _GONE or (gone == way).any():
        return []
    return [Remark.warning("wrong_angle", why="way", factor=None, left_mm=0.0, turn=turn)]


def _wrong(why: str, left: float, factor: float | None = None) -> Remark:
    return Remark.warning("wrong_angle", why=why, factor=factor, left_mm=left)


def _leapt(stations: Stations, count: float) -> bool:
    """Whether a counter was reset, or wrapped: the angle went on by more than a sector within one, or other
    readings came at places that were read before, over some sectors. count: step of the display, mm: where
    few readings fall into a sector, two that are a step or two apart are no scatter."""
    period = float(np.ptp(stations.t)) / max(float(stations.count.sum()), 1.0)
    turned = np.abs(stations.speed) * stations.count * period
    if float(turned.max()) > max(_LEAP_DEG, _LEAP * float(np.median(turned))):
        return True
    scatter = stations.scatter[np.isfinite(stations.scatter)]
    if not len(scatter):
        return False
    usual = max(_BAD_MM, _STEPS * count, _LEAP * float(np.median(scatter)))
    places = sectors_of(stations.deg)[stations.scatter > usual]  # nan is no more than usual
    return len(np.unique(places)) >= _READ_TWICE


def _repeats(way: Floats, value: Floats) -> int:
    """How often a turn the readings repeat, two or three times, if they do nothing else: of a bore that is so
    even about the crank, and so lobed, nobody ever heard."""
    rows = harmonic_rows(way, MOST_HARMONICS)
    fitted = np.linalg.lstsq(rows, value, rcond=None)[0][1:].reshape(MOST_HARMONICS, 2)
    sizes, orders = np.hypot(fitted[:, 0], fitted[:, 1]), np.arange(1, MOST_HARMONICS + 1)
    for times in (2, 3):
        others = float(np.linalg.norm(sizes[orders % times > 0]))
        if sizes[times - 1] > _BAD_MM and others < _REPEATED * sizes[times - 1]:
            return times
    return 0


def _way(stations: Stations) -> Floats:
    """Degrees that the angle went, turns counted."""
    return np.unwrap(stations.deg, period=360.0)


def _left(deg: Floats, value: Floats, orders: int) -> float:
    """Standard deviation of what a fit leaves, mm."""
    rows = harmonic_rows(deg, orders)
    off = value - rows @ np.linalg.lstsq(rows, value, rcond=None)[0]
    return float(np.sqrt(off @ off / max(len(value) - rows.shape[1], 1)))


def _beside_a_knock(way: Floats, value: Floats) -> float:
    """What all lobes leave where the zero moved once, after any of the rows: no fault of the angle."""
    n = len(way)
    lobes = spanned(harmonic_rows(way, MOST_HARMONICS))
    knocks = np.tri(n, k=-1)[:, 1 : n - 2]
    off, beside = (table - lobes @ (lobes.T @ table) for table in (value, knocks))
    told = (beside.T @ off) ** 2 / np.maximum((beside**2).sum(axis=0), _ALIKE)
    return float(np.sqrt(max(off @ off - told.max(), 0.0) / max(n - lobes.shape[1] - 1, 1)))


def _by_factor(way: Floats, value: Floats) -> tuple[float, float]:
    """The factor by which the angle would have to run, and what is left then."""
    whole = float(np.ptp(way))
    tried = np.geomspace(300.0 / whole, max(8.0, 400.0 / whole), 400).tolist()
    factors = [factor for factor in tried if abs(factor - 1.0) > 0.03]
    left = [_left(factor * way, value, 1) for factor in factors]
    best = int(np.argmin(left))
    return factors[best], left[best]


def _by_jump(way: Floats, value: Floats) -> float:
    """What is left where the angle jumped once: after any of the rows, by anything."""
    best = np.inf
    for first in np.linspace(0, len(way), 26)[1:-1].astype(int).tolist():
        for jump in range(15, 360, 15):
            best = min(best, _left(np.concatenate([way[:first], way[first:] + jump]), value, 1))
    return float(best)
