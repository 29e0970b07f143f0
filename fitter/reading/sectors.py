"""Continuous sweeps: thousands of readings a turn, kept as one row a 5 degree sector.

Neighbouring samples of one turn share the form error of the surface and the state of the oil
film, so they are not independent and their number is no measure of certainty: the sector is.
Each sector keeps sums, so memory depends on turns and not on samples, and from MOST_ROWS rows on not
even on turns; the mean of the
harmonic rows with the mean of the readings keeps the model exact within it. All sums run in the
order of arrival: how the samples were cut into blocks does not change a bit.
"""

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats, harmonic_rows
from .stations import COLUMNS, MOST_HARMONICS, MOST_ROWS, SECTORS, Ints, Stations, sectors_of

_TURN_ROUND = 2
"""A reversal counts once the crank has gone back this many sectors: a trembling hand is none."""

_POOLED = 1 << 40
"""Stands for the turn in the key of a row that holds many."""

_BASIS = 1 + 2 * MOST_HARMONICS
_COUNT, _TIME, _SUM, _SQUARES, _TURNED, _TOOK, _COLUMNS = 0, *range(_BASIS, _BASIS + 6)


class Sectors:
    """Sums of a continuous sweep by turn, sense and sector."""

    def __init__(self) -> None:
        self._sums = np.zeros((SECTORS, _COLUMNS))
        self._row_of: dict[tuple[int, int, int], int] = {}
        self._keys: list[tuple[int, int, int]] = []
        self._origin = 0.0
        self._last = (0.0, 0.0)  # angle and time of the newest sample
        # Sectors travelled since the first sample; where the present sense last went furthest.
        self._travel = self._furthest = self._sector = 0
        self._sense = 0
        self._pooled_turn = 0
        self._apart = 0  # rows before the first that holds many turns
        self._made = _columns(SECTORS)
        self._fresh = self._lowest = 0  # the lowest row that changed since the table was made; lowest turn

    def __len__(self) -> int:
        """The number of rows: sectors read, each turn and sense apart."""
        return len(self._keys)

    def add(self, deg: Floats, readings_mm: Floats, t: Floats) -> int:
        """Take in samples of one block, one at least, in order: internal angles (any turn), readings, times.

        Returns the lowest row that was touched, so that who has used rows before it may keep them.
        """
        sector = sectors_of(deg)
        if not self._keys:
            self._origin = float(readings_mm[0])
            self._sector = int(sector[0])
            self._last = deg.item(0), t.item(0)
        rows = self._rows(sector)
        columns = harmonic_rows(deg, MOST_HARMONICS)
        for k in range(_BASIS):
            np.add.at(self._sums[:, k], rows, columns[:, k])
        # Deviations from the first reading keep the digits of the scatter.
        deviation = readings_mm - self._origin
        np.add.at(self._sums[:, _TIME], rows, t)
        np.add.at(self._sums[:, _SUM], rows, deviation)
        np.add.at(self._sums[:, _SQUARES], rows, deviation * deviation)
        # How far the crank has come since the reading before, and how long it took.
        last_deg, last_t = self._last
        np.add.at(self._sums[:, _TURNED], rows, _step(np.diff(deg, prepend=last_deg)))
        np.add.at(self._sums[:, _TOOK], rows, np.diff(t, prepend=last_t))
        self._last = deg.item(-1), t.item(-1)
        touched = int(rows.min())
        self._fresh = min(self._fresh, touched)
        return touched

    def _rows(self, sector: Ints) -> Ints:
        """The row of each sample; steps from sector to sector are walked one by one."""
        starts = np.flatnonzero(np.diff(sector, prepend=self._sector))
        rows = np.empty(len(sector), dtype=np.int64)
        begin = 0
        for start in [*starts.tolist(), len(sector)]:
            if start > begin:
                rows[begin:start] = self._row(self._sector)
            if start < len(sector):
                self._step(int(sector[start]))
            begin = start
        return rows

    def _step(self, sector: int) -> None:
        """Follow the crank to another sector: travel, turn and sense."""
        step = (sector - self._sector + SECTORS // 2) % SECTORS - SECTORS // 2
        self._sector = sector
        self._travel += step
        if self._sense == 0:
            self._sense = 1 if step > 0 else -1
            self._furthest = self._travel
        elif (self._travel - self._furthest) * self._sense > 0:
            self._furthest = self._travel
        elif (self._furthest - self._travel) * self._sense >= _TURN_ROUND:
            self._sense = -self._sense
            self._furthest = self._travel

    def _row(self, sector: int) -> int:
        key = (self._travel // SECTORS, self._sense, sector)
        row = self._row_of.get(key)
        if row is None and self._apart >= MOST_ROWS:
            self._pooled_turn = max(self._pooled_turn, key[0])
            key = (_POOLED, self._sense, sector)
            row = self._row_of.get(key)
        if row is None:
            row = self._row_of[key] = len(self._keys)
            self._apart += key[0] != _POOLED
            self._keys.append(key)
            if row == len(self._sums):
                self._sums = np.concatenate([self._sums, np.zeros_like(self._sums)])
        return row

    @property
    def apart(self) -> int:
        """Rows, from the first, that hold one turn each; those after them go on growing."""
        return self._apart

    def table(self) -> Stations:
        """The sectors read so far, as stations.

        Only rows that were touched since the last call are worked out anew, so that looking often at a
        long sweep costs what is new in it. Rows of an earlier answer that were touched since have changed.
        """
        n = len(self._keys)
        lowest = min((key[0] for key in self._keys[self._fresh :]), default=self._lowest)
        if lowest < self._lowest:
            self._lowest, self._fresh = lowest, 0  # turns count from the lowest
        if n > len(self._made["deg"]):
            more = _columns(max(n, 2 * len(self._made["deg"])))
            for name, column in self._made.items():
                more[name][: self._fresh] = column[: self._fresh]
            self._made = more
        if n > self._fresh:
            for name, column in self._work_out(self._fresh, n).items():
                self._made[name][self._fresh : n] = column
        self._fresh = n
        self._made["turn"][self._apart : n] = self._pooled_turn - self._lowest
        sense = self._made["sense"]
        # The first sector is entered before a sense is known: give it that of what follows.
        if n > 1 and sense[0] == 0:
            sense[0] = sense[1]
        return Stations(**{name: column[:n] for name, column in self._made.items()}, continuous=True)

    def _work_out(self, first: int, end: int) -> dict[str, NDArray[Any]]:
        """Columns of the table for some of its rows."""
        sums = self._sums[first:end]
        count = sums[:, _COUNT]
        mean = sums[:, _SUM] / count
        with np.errstate(invalid="ignore", divide="ignore"):
            spread = (sums[:, _SQUARES] - count * mean * mean) / (count - 1.0)
            scatter = np.where(count > 1, np.sqrt(np.maximum(spread, 0.0)), math.nan)
        basis = sums[:, :_BASIS] / count[:, None]
        keys = np.array(self._keys[first:end], dtype=np.int64)
        deg = np.mod(np.rad2deg(np.arctan2(basis[:, 2], basis[:, 1])), 360.0)
        return {
            "deg": np.where(deg < 360.0, deg, 0.0),  # a tiny negative angle rounds up to a whole turn
            "basis": basis,
            "value": self._origin + mean,
            "count": count.astype(np.int64),
            "scatter": scatter,
            "t": sums[:, _TIME] / count,
            "turn": keys[:, 0] - self._lowest,
            "sense": keys[:, 1],
            "moved": np.full(len(mean), math.nan),
            "speed": np.where(
                sums[:, _TOOK] > 0.0, sums[:, _TURNED] / np.maximum(sums[:, _TOOK], 1e-12), 0.0
            ),
        }


def _step(deg: Floats) -> Floats:
    """Differences of angles by the short way, so that a scale which begins anew at 360 turns nothing back."""
    return deg - 360.0 * np.round(deg / 360.0)


def _columns(rows: int) -> dict[str, NDArray[Any]]:
    """Room for the columns of a table."""
    whole = ("count", "turn", "sense")
    room: dict[str, NDArray[Any]] = {
        name: np.zeros(rows, dtype=np.int64 if name in whole else np.float64) for name in COLUMNS
    }
    room["basis"] = np.zeros((rows, _BASIS))
    return room
