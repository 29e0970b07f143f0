"""Stations: what a sweep comes down to, whether they were stopped at or passed over.

A station is a place on the circle with one mean reading. Entered sweeps give one each time the
operator confirms; continuous sweeps give one for each 5 degree sector, turn and sense
(`fitter.reading.sectors`). Everything after this works on the same table.
"""

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..errors import TooManyStations
from ..geometry import difference, wrap
from ..numeric.basis import Floats, harmonic_rows

Ints = NDArray[np.int64]

MOST_HARMONICS = 6
MOST_STATIONS = 5000
"""More stations than this nobody stops at: the file is broken, or the sweep a continuous one."""

SECTORS = 72
"""Of a continuous sweep, to a turn."""

SECTOR_DEG = 360.0 / SECTORS

MOST_ROWS = 100 * SECTORS
"""Rows of a continuous sweep that are kept apart. A hundred turns show drift and scatter as well as ten
thousand: what comes after that many rows goes into one row a sector and sense, so that a day's recording
costs no more."""

SAME_ANGLE_DEG = 1.0
"""Stations closer than this count as the same place."""


def sectors_of(deg: Floats) -> Ints:
    """The sector in which each angle lies, 0 to SECTORS - 1, (n,)."""
    return np.asarray(np.floor(np.mod(deg, 360.0) / SECTOR_DEG).astype(np.int64) % SECTORS)


@dataclass(frozen=True, slots=True)
class Stations:
    """n stations in the order in which they were read.

    deg: internal angle, 0..360, shape (n,).
    basis: mean harmonic rows of the readings in each station, shape (n, 1 + 2 MOST_HARMONICS).
    value: mean reading, mm.
    count: readings in the mean.
    scatter: their standard deviation, mm (nan for one reading).
    t: mean time, s.
    turn: 0, 1, ...
    sense: +1 clockwise, -1 against, 0 not known.
    moved: by how much the dial itself moved (largest less smallest reading, mm on its own scale) between the
        station before and the end of this one; nan where nobody saw.
    speed: mean of the crank's while it was read, degrees a second, clockwise positive; 0 at a stop.
    continuous: read in passing, not stopped at.
    """

    deg: Floats
    basis: Floats
    value: Floats
    count: Ints
    scatter: Floats
    t: Floats
    turn: Ints
    sense: Ints
    moved: Floats
    speed: Floats
    continuous: bool = False

    def __len__(self) -> int:
        """The number of stations."""
        return len(self.deg)

    def take(self, which: slice | NDArray[np.bool_] | Ints) -> "Stations":
        """Only the stations that an index selects."""
        return replace(self, **{name: getattr(self, name)[which] for name in COLUMNS})

    def with_values(self, value: Floats) -> "Stations":
        """The same stations with other readings."""
        return replace(self, value=value)

    def places(self) -> Floats:
        """The distinct angles, rising, those within SAME_ANGLE_DEG taken as one."""
        ordered: list[float] = np.sort(self.deg).tolist()
        kept: list[float] = []
        k = 0
        while k < len(ordered):
            kept.append(ordered[k])
            k = bisect_right(ordered, kept[-1] + SAME_ANGLE_DEG, k)
        if len(kept) > 1 and kept[0] + 360.0 - kept[-1] <= SAME_ANGLE_DEG:
            kept.pop(0)
        return np.array(kept)

    def turns(self) -> int:
        """How many times, on the whole, each place was read."""
        rows = max(1, round(len(self) / max(len(self.places()), 1)))
        if self.continuous and len(self) > MOST_ROWS:
            # The last rows hold many turns each.
            return max(rows, int(self.turn.max() - self.turn.min()) + 1)
        return rows

    def gaps(self) -> Floats:
        """The turns from each place to the next, degrees, the last of them to the first."""
        places = self.places()
        return np.diff(places, append=places[:1] + 360.0)

    def largest_gap(self) -> float:
        """The largest turn, in degrees, over which no station lies; 360 for one place."""
        return float(self.gaps().max(initial=0.0)) or 360.0

    def slope(self, coefficients: Floats) -> Floats:
        """Change of the reading with the angle, mm a radian; coefficients: c, a1, b1 ..., (1 + 2 K,)."""
        slope = np.zeros(len(self))
        for k in range(1, min(len(coefficients) // 2, MOST_HARMONICS) + 1):
            a, b = coefficients[2 * k - 1], coefficients[2 * k]
            slope += k * (b * self.basis[:, 2 * k - 1] - a * self.basis[:, 2 * k])
        return slope


COLUMNS = ("deg", "basis", "value", "count", "scatter", "t", "turn", "sense", "moved", "speed")
"""The fields of Stations that have a row a station."""


def one_table(tables: Sequence[Stations]) -> Stations:
    """Stations one after another."""
    columns = {name: np.concatenate([getattr(table, name) for table in tables]) for name in COLUMNS}
    return Stations(**columns, continuous=all(table.continuous for table in tables))


class EnteredStations:
    """Stations that the operator confirmed one by one; the last can be taken back."""

    def __init__(self) -> None:
        self._rows: list[tuple[float, float, int, float, float, float]] = []

    def __len__(self) -> int:
        """The number of stations that stand."""
        return len(self._rows)

    def add(self, deg: float, readings_mm: Floats, t: Floats, moved_mm: float = math.nan) -> None:
        """A station at internal angle `deg`: the mean of the readings of its dwell (at least one).
        moved_mm: as in `Stations`.

        Raises TooManyStations beyond MOST_STATIONS.
        """
        if len(self._rows) >= MOST_STATIONS:
            raise TooManyStations(MOST_STATIONS)
        n = len(readings_mm)
        # fsum is exact, so a constant reading has a scatter of exactly nothing.
        mean = math.fsum(readings_mm) / n
        scatter = math.sqrt(math.fsum((readings_mm - mean) ** 2) / (n - 1)) if n > 1 else math.nan
        self._rows.append((wrap(deg), mean, n, scatter, math.fsum(t) / n, moved_mm))

    def undo(self) -> bool:
        """Take the last station back; False if there is none."""
        if not self._rows:
            return False
        self._rows.pop()
        return True

    def table(self) -> Stations:
        """The stations that stand, with turns and senses worked out from the order of angles."""
        columns = np.array(self._rows, dtype=np.float64).reshape(len(self._rows), 6).T
        deg, value, count, scatter, t, moved = columns
        turn, sense = _passes(deg)
        return Stations(
            deg=deg,
            basis=harmonic_rows(deg, MOST_HARMONICS),
            value=value,
            count=count.astype(np.int64),
            scatter=scatter,
            t=t,
            turn=turn,
            sense=sense,
            moved=moved,
            speed=np.zeros(len(deg)),
        )


def _passes(deg: Floats) -> tuple[Ints, Ints]:
    """Turn (how often the place was read before) and sense of each step between stations.

    Stations may be read in any order; a step of half a turn, or to the same place, has no sense
    of its own and keeps that of the step before.
    """
    turn = np.zeros(len(deg), dtype=np.int64)
    sense = np.zeros(len(deg), dtype=np.int64)
    seen: dict[int, int] = {}
    for i, at in enumerate(deg):
        place = round(at / SAME_ANGLE_DEG) % round(360 / SAME_ANGLE_DEG)
        turn[i] = seen.get(place, 0)
        seen[place] = int(turn[i]) + 1
        step = difference(at, deg[i - 1]) if i else 0.0
        if SAME_ANGLE_DEG < abs(step) < 179.0:
            sense[i] = 1 if step > 0 else -1
        elif i:
            sense[i] = sense[i - 1]
    if len(deg) > 1:
        sense[0] = sense[1]
    return turn, sense
