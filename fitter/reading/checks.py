"""Checks that need no model: does the sweep agree with itself?"""

import math

import numpy as np

from .stations import Stations

_NEAR_DEG = 3.0
"""How near to an angle a station must lie to stand for it: half a sector and a little."""

_SAME_DEG = 1e-9
"""Angles closer than this are one angle, differently rounded."""


def at(stations: Stations, deg: float) -> float | None:
    """Mean reading of the stations nearest to an angle, mm; None if none is within 3 degrees."""
    away = np.abs(np.mod(stations.deg - deg + 180.0, 360.0) - 180.0)
    if len(away) == 0 or away.min() > _NEAR_DEG:
        return None
    return float(stations.value[away <= away.min() + 1e-9].mean())


def cross(stations: Stations) -> float | None:
    """(12 + 6) - (3 + 9) o'clock, mm: nothing for a true circle, however far off centre."""
    top, right, bottom, left = (at(stations, deg) for deg in (0.0, 90.0, 180.0, 270.0))
    if top is None or right is None or bottom is None or left is None:
        return None
    return top + bottom - right - left


def opposed(stations: Stations) -> float | None:
    """Largest |m(th) - m(th + 180)| over stations that were read on both sides, mm.

    What is opposite is the mean of the nearest stations, as in `at`."""
    if len(stations) == 0:
        return None
    order = np.argsort(stations.deg, kind="stable")
    deg, value = stations.deg[order], stations.value[order]
    begin = np.flatnonzero(np.diff(deg, prepend=-1.0) > _SAME_DEG)
    count = np.diff(begin, append=len(deg))
    place, total = deg[begin], np.add.reduceat(value, begin)
    target = np.mod(deg + 180.0, 360.0)
    after = np.searchsorted(place, target) % len(place)
    before = (after - 1) % len(place)
    away_after, away_before = (
        np.abs(np.mod(place[k] - target + 180.0, 360.0) - 180.0) for k in (after, before)
    )
    nearest = np.minimum(away_after, away_before)
    use_after = away_after <= nearest + _SAME_DEG
    use_before = (away_before <= nearest + _SAME_DEG) & (before != after)
    other = (total[after] * use_after + total[before] * use_before) / (
        count[after] * use_after + count[before] * use_before
    )
    seen = nearest <= _NEAR_DEG
    return float(np.abs(value - other)[seen].max()) if seen.any() else None


def swept(stations: Stations) -> float:
    """Largest less smallest station reading, mm."""
    return float(stations.value.max() - stations.value.min())


def closure(stations: Stations) -> float | None:
    """Last less first reading where the sweep ended at the place it began, mm."""
    if len(stations) < 3:
        return None
    away = abs(math.remainder(float(stations.deg[-1] - stations.deg[0]), 360.0))
    # A continuous sweep must have passed both of its end sectors at least half way.
    passed = stations.count[[0, -1]].min() >= np.median(stations.count) / 2.0
    if away > _NEAR_DEG or (stations.continuous and not passed):
        return None
    return float(stations.value[-1] - stations.value[0])


def hysteresis(stations: Stations) -> float | None:
    """Mean clockwise less anticlockwise reading over all pairs read at one place in both senses, mm."""
    clockwise, against = stations.sense > 0, stations.sense < 0
    if not clockwise.any() or not against.any():
        return None
    value = stations.value - stations.value.mean()
    order = np.argsort(stations.deg[against], kind="stable")
    deg, others = stations.deg[against][order], value[against][order]
    # Once round on either side, so that 359 and 1 degrees are neighbours.
    deg = np.concatenate([deg - 360.0, deg, deg + 360.0])
    sums = np.concatenate([[0.0], np.cumsum(np.tile(others, 3))])
    first = np.searchsorted(deg, stations.deg[clockwise] - _NEAR_DEG, side="left")
    last = np.searchsorted(deg, stations.deg[clockwise] + _NEAR_DEG, side="right")
    pairs = last - first
    if pairs.sum() < 3:
        return None
    differences = pairs * value[clockwise] - (sums[last] - sums[first])
    return float(differences.sum() / pairs.sum())
