"""A dial that is late: what it shows when the crank passes an angle is what it met a moment before.

In a sweep that does not stop, a delay of tau turns what is read by the speed times tau, along the way of
turning: reading(th) = m(th - v tau), v in radians a second, clockwise positive. One way, at a steady speed,
that looks just like another 12 o'clock; there and back, or at different speeds, the readings tell it. At rest
it does nothing, and in the moment after a change of speed it does neither.
"""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from ..errors import TooFewStations
from ..numeric.basis import Floats
from ..reading.setup import Setup
from ..reading.stations import MOST_HARMONICS, MOST_ROWS, SECTOR_DEG, SECTORS, Ints, Stations
from .drift import is_cheap
from .model import fit, is_separable, supported_harmonics

_ROUNDS = 3
"""A delay of .3 s at 60 degrees a second is too far for a straight line: the readings are moved, and asked
again."""


_EACH_WAY = 3
"""Sectors in each sense from which these may read differently (`fitter.fitting.drift`)."""

_RESTS = 4.0
"""Times the usual readings of a sector: so many more, and the crank stood there most of the time."""


def steady(stations: Stations, longest_s: float) -> Ints:
    """Which sectors were not passed within `longest_s` of a start, a stop or a turn the other way:
    there a late dial shows what it met at another speed. All of them where less than half would be left."""
    n = len(stations)
    everywhere = np.arange(n)
    speed = np.abs(stations.speed)
    if n > MOST_ROWS or not speed.any():
        return everywhere
    changed = speed < float(np.median(speed)) / 2.0
    reach = np.minimum(np.ceil(speed * longest_s / SECTOR_DEG), SECTORS / 4)
    for back in range(1, min(int(reach.max()), n - 1) + 1):
        before = everywhere - back
        # The sweep may begin in mid-turn: what was before it is not known to have been another speed.
        same = (stations.sense[before] == stations.sense) & (speed[before] > speed / 2.0)
        changed |= (before >= 0) & (back <= reach) & ~same
    kept = ~changed | at_rest(stations)
    return everywhere[kept] if 2 * int(kept.sum()) >= n else everywhere


def at_rest(stations: Stations) -> NDArray[np.bool_]:
    """In which sectors the crank stood most of the time, (n,)."""
    speed = np.abs(stations.speed)
    slow = speed < float(np.median(speed)) / 2.0
    return slow & (stations.count > _RESTS * float(np.median(stations.count)))


def moved(stations: Stations, delay_s: float) -> Stations:
    """The stations where the dial was when it met what it shows."""
    if delay_s == 0.0 or not stations.speed.any():
        return stations
    back = stations.speed * delay_s
    basis = stations.basis.copy()
    for k in range(1, MOST_HARMONICS + 1):
        cos, sin = np.cos(k * np.deg2rad(back)), np.sin(k * np.deg2rad(back))
        c, s = stations.basis[:, 2 * k - 1], stations.basis[:, 2 * k]
        basis[:, 2 * k - 1], basis[:, 2 * k] = c * cos + s * sin, s * cos - c * sin
    return replace(stations, deg=np.mod(stations.deg - back, 360.0), basis=basis)


def column(stations: Stations, slope: Floats) -> Floats:
    """What a delay of one second adds to each reading, mm, shape (n,); slope: of the surface, mm a radian."""
    return -slope * np.deg2rad(stations.speed)


@dataclass(frozen=True, slots=True)
class Lateness:
    """How late the dial was, s, as stated and as found; its column of the model, by name, where the readings
    tell it; and whether they tell it too badly to be fitted, but those at rest differ by it."""

    delay_s: float = 0.0
    columns: dict[str, Floats] = field(default_factory=dict)
    unsure: bool = False


def taken_out(setup: Setup, stations: Stations) -> tuple[Stations, Lateness]:
    """Stations that were passed steadily as they would read without what is stated of the delay, and what is
    found of it beside."""
    stations, total, telling = moved(stations, setup.delay_s), setup.delay_s, None
    senses = min((stations.sense > 0).sum(), (stations.sense < 0).sum()) >= _EACH_WAY
    extras = [stations.sense / 2.0] if senses else []
    for _ in range(_ROUNDS if setup.delay_sd_s > 0.0 else 0):
        try:
            harmonics = supported_harmonics(stations, len(extras) + 1)
        except TooFewStations:
            break
        fitted = fit(stations, harmonics, extras if telling is None else [*extras, telling])
        if telling is not None:
            late = float(fitted.coefficients[-1])
            stations, total = moved(stations, late), total + late
        one = column(stations, stations.slope(fitted.coefficients[: 1 + 2 * harmonics]))
        if not is_separable(stations, harmonics, [*extras, one]):
            return stations, Lateness(total)
        if not is_cheap(stations, extras, one):
            return stations, Lateness(total, unsure=True)
        telling = one
    return stations, Lateness(total, {} if telling is None else {"late": telling})
