"""Checks that need no model: does the sweep agree with itself?"""

import math

import numpy as np

from .basis import Floats
from .stations import Stations

_NEAR_DEG = 3.0
"""How near to an angle a station must lie to stand for it: half a sector and a little."""


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
    """Largest |m(th) - m(th + 180)| over stations that were read on both sides, mm."""
    differences = [
        abs(value - other)
        for deg, value in zip(stations.deg.tolist(), stations.value.tolist(), strict=True)
        if (other := at(stations, deg + 180.0)) is not None
    ]
    return max(differences, default=None)


def swept(stations: Stations) -> float:
    """Largest less smallest station reading, mm."""
    return float(stations.value.max() - stations.value.min())


def closure(stations: Stations) -> float | None:
    """Last less first reading where the sweep ended at the place it began, mm."""
    if len(stations) < 3:
        return None
    away = abs(math.remainder(float(stations.deg[-1] - stations.deg[0]), 360.0))
    if away > _NEAR_DEG or (stations.continuous and not _ends_filled(stations)):
        return None
    return float(stations.value[-1] - stations.value[0])


def _ends_filled(stations: Stations) -> bool:
    """Whether a continuous sweep passed both of its end sectors at least half way."""
    return bool(stations.count[[0, -1]].min() >= np.median(stations.count) / 2.0)


def hysteresis(stations: Stations) -> float | None:
    """Mean clockwise less anticlockwise reading at the places read in both senses, mm."""
    away = _same_place(stations.deg)
    clockwise, against = stations.sense > 0, stations.sense < 0
    pairs = away[np.ix_(clockwise, against)]
    i, j = np.nonzero(pairs)
    if len(i) < 3:
        return None
    return float((stations.value[clockwise][i] - stations.value[against][j]).mean())


def _same_place(deg: Floats) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    away = np.abs(np.mod(deg[:, None] - deg[None, :] + 180.0, 360.0) - 180.0)
    return np.asarray(away <= _NEAR_DEG)
