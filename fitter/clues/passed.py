"""Sweeps read in passing: a dial that stands while the crank turns, although the rest says that it should
move."""

from collections import deque
from typing import Final

import numpy as np

from ..numeric.basis import Floats, harmonic_rows
from ..reading.displaystep import count_of
from ..reading.setup import Setup
from ..reading.stations import SECTOR_DEG, Ints, Stations, sectors_of
from ..result import Remark
from ..units import MM_PER_THOU

_LEAST_DEG: Final = 60.0
"""A run shorter than that spoils little, and a bore may be flat so far."""

_TELLING, _BEYOND = 5.0, 2.0
"""Times the room of a run by which the rest must move across it, and pass it by where it is at an end."""

_STEPS: Final = (0.01, 1.01, 2.01)
"""Steps of the display by which a dial that stands may flicker."""

_RIGID_DEG: Final = 100.0
"""Angle over which no bore reads the same to the step at an end of its travel. One whose oval is a quarter of
its offset lingers longest, and leaves by a fourteenth of that."""

_SWUNG, _LITTLE, _SCATTERS = 20.0, 5.0, 0.05
"""Steps by which all of it must swing then; fewer do where hardly any other sector reads the same all
through: the dial scatters, and no place lies between two steps by chance."""

_FINE_MM: Final = 0.3 * MM_PER_THOU
"""Within which no bore reads all round (common practice, no source)."""


def stood(setup: Setup, stations: Stations) -> list[Remark]:
    """That the dial stood over a run of sectors: off the surface where that is its lowest or highest, else on
    hold; dead where it never moved."""
    count = count_of(setup, stations)
    quiet = float(np.nanquantile(stations.scatter, 0.1)) if np.isfinite(stations.scatter).any() else 0.0
    for steps in _STEPS:
        found = _within(stations, max(steps * count, 3.0 * quiet, 1e-6), count)
        if found:
            return found
    return _rigid(stations, count)


def _rigid(stations: Stations, count: float) -> list[Remark]:
    """That every reading of a long run was the same to the last digit, at one end of the travel."""
    value, swing = stations.value, float(np.ptp(stations.value))
    still = stations.scatter <= _SAME_MM  # nan is not
    for level in (float(value.min()), float(value.max())):
        alike = still & (np.abs(value - level) <= _SAME_MM)
        run = longest(np.where(alike, 0.0, np.arange(1.0, len(value) + 1.0)), 0.5)
        scatters = float(still.sum() - alike.sum()) <= _SCATTERS * float((~alike).sum())
        if _degrees(stations, run) >= _RIGID_DEG and swing >= (_LITTLE if scatters else _SWUNG) * count:
            lowest = level == float(value.min())
            return [Remark.warning("tip_off", places=len(run), reads_mm=level, lowest=lowest)]
    return []


def _within(stations: Stations, room: float, count: float) -> list[Remark]:
    """The same of a run whose readings lie within `room`, mm."""
    value = stations.value
    run = longest(value, room)
    if _degrees(stations, run) < _LEAST_DEG:
        return []
    level = float(np.median(value[run]))
    there = np.abs(value - level) <= room
    lowest, highest = level - float(value.min()) <= room, float(value.max()) - level <= room
    at_end = lowest or highest
    others = np.flatnonzero(~there) if at_end else np.setdiff1d(np.arange(len(value)), run)
    if len(others) < _FEWEST:
        # Next to nothing else was read: of a coarse display a good bore does that too, unless it never
        # changed.
        same = float(np.ptp(value)) == 0.0 or room < _FINE_MM
        return [Remark.warning("dead_dial", stations=len(stations), reads_mm=level)] if same else []
    expected, scatter = _expected(stations, others, run)
    telling = max(room, count, scatter)
    if float(np.ptp(expected)) < _TELLING * telling:
        return []
    beyond = level - float(expected.min()) if lowest else float(expected.max()) - level
    if at_end and beyond < _BEYOND * telling:
        return []  # the bore lingers there, as it does at either end
    if at_end:
        return [Remark.warning("tip_off", places=len(run), reads_mm=level, lowest=lowest)]
    after = float(stations.deg[run[0]])
    return [Remark.warning("held_dial", after_deg=after, stations=len(run), reads_mm=level)]


def longest(value: Floats, room: float) -> Ints:
    """The longest run of rows, in the order in which they were read, that lie within `room`: their
    indices."""
    best, start = (0, 0), 0
    # Rows of the window that may still come to be its smallest, and its largest, the present one first.
    smallest, largest = deque[tuple[float, int]](), deque[tuple[float, int]]()
    for end, reads in enumerate(value.tolist()):
        while smallest and smallest[-1][0] >= reads:
            smallest.pop()
        while largest and largest[-1][0] <= reads:
            largest.pop()
        smallest.append((reads, end))
        largest.append((reads, end))
        while largest[0][0] - smallest[0][0] > room:
            start += 1
            for rows in (smallest, largest):
                if rows[0][1] < start:
                    rows.popleft()
        if end + 1 - start > best[1] - best[0]:
            best = (start, end + 1)
    return np.arange(*best)


def _degrees(stations: Stations, run: Ints) -> float:
    return len(np.unique(sectors_of(stations.deg[run]))) * SECTOR_DEG


def _expected(stations: Stations, others: Ints, run: Ints) -> tuple[Floats, float]:
    """What a fit to the other rows says of the run, and how much they scatter about it."""
    orders = 2 if _degrees(stations, others) > 180.0 else 1
    rows = harmonic_rows(stations.deg, orders)
    fitted = np.linalg.lstsq(rows[others], stations.value[others], rcond=None)[0]
    left = stations.value[others] - rows[others] @ fitted
    return rows[run] @ fitted, float(np.std(left))


_FEWEST: Final = 8

_SAME_MM: Final = 1e-7
"""Means of equal readings differ by their last bits, and their scatter is no more."""
