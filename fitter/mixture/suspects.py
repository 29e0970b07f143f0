"""What may be suspected: a reading apart, a place of the surface, or all of a sweep from a moment on."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats
from ..reading.stations import SAME_ANGLE_DEG, Ints, Stations, sectors_of
from . import priors

_LEAST = 5
"""Readings from which a fault is looked for."""

_ALL = 100
"""Of one kind; of more those are looked at that seem worst, what lies beside them, and the worst of each
part."""

_SEEM, _PARTS = 16, 16


@dataclass(frozen=True, slots=True)
class Suspect:
    """Readings of one place, or all of a sweep from one on (`knock`).

    sweep, and rows in it: of a knock the first after it. chance: beforehand.
    """

    sweep: int
    rows: tuple[int, ...]
    knock: bool
    chance: float

    def column(self, starts: Sequence[int]) -> Floats:
        """What one unit of it adds to each reading, (n,). starts: of each sweep, and the end of the last."""
        column = np.zeros(starts[-1])
        first = starts[self.sweep]
        if self.knock:
            column[first + self.rows[0] : starts[self.sweep + 1]] = 1.0
        else:
            column[np.add(first, self.rows)] = 1.0
        return column


def suspects(sweeps: Sequence[Stations], table: Floats, value: Floats) -> tuple[Suspect, ...]:
    """All that is worth suspecting, the chance beforehand of each. table: columns of what moves the
    readings when nothing is wrong, (n, p), by which faults are known where there are many readings; value:
    those, (n,), mm."""
    n = len(value)
    if n < _LEAST:
        return ()
    starts = np.cumsum([0, *map(len, sweeps)]).tolist()
    places = {round(float(deg) / SAME_ANGLE_DEG) % 360 for sweep in sweeps for deg in sweep.deg}
    # A crank that went on beyond a turn has read places twice, whatever their angles.
    checked = len(places) < n or any(sweep.continuous and sweep.turns() > 1 for sweep in sweeps)
    of_knocks = priors.KNOCK.chance * (1.0 if checked else priors.KNOCK_UNCHECKED)
    seem = _Seeming(table, value)
    knocks = [(k, (j,)) for k, sweep in enumerate(sweeps) for j in range(2, len(sweep) - 1)]
    bad = [(k, rows) for k, sweep in enumerate(sweeps) for rows in _bad(sweep)]
    found = []
    for chance, of_kind, knock in ((of_knocks, knocks, True), (priors.BAD.chance, bad, False)):
        all_of = [Suspect(k, rows, knock, chance / len(of_kind)) for k, rows in of_kind]
        found += [all_of[k] for k in seem.worst(all_of, starts)]
    return tuple(found)


def _bad(sweep: Stations) -> Iterable[tuple[int, ...]]:
    """A station each; of sectors that were passed more than once also all readings of a place."""
    yield from ((j,) for j in range(len(sweep)))
    if not sweep.continuous:
        return
    sector = sectors_of(sweep.deg)
    order = np.argsort(sector, kind="stable")
    for rows in np.split(order, np.flatnonzero(np.diff(sector[order])) + 1):
        if len(rows) > 1:
            yield tuple(rows.tolist())


class _Seeming:
    """How much of the residuals each suspect would explain, roughly: enough to leave the most unlikely
    out."""

    def __init__(self, table: Floats, value: Floats) -> None:
        self._table, self._value = table, value
        self._Q = np.zeros((len(value), 0))

    def worst(self, all_of: Sequence[Suspect], starts: Sequence[int]) -> Ints:
        """Which of them are worth a look, in their order."""
        if len(all_of) <= _ALL:
            return np.arange(len(all_of))
        if not self._Q.size:
            self._Q, _ = np.linalg.qr(self._table)
        rest = self._value - self._Q @ (self._Q.T @ self._value)
        # All sums over rows are differences of running ones.
        running = np.cumsum(
            np.vstack([np.zeros(1 + self._Q.shape[1]), np.column_stack([rest, self._Q])]), axis=0
        )
        gain = np.zeros(len(all_of))
        for k, one in enumerate(all_of):
            first = starts[one.sweep]
            if one.knock:
                sums = running[starts[one.sweep + 1]] - running[first + one.rows[0]]
                count = starts[one.sweep + 1] - first - one.rows[0]
            else:
                at = np.add(first, one.rows)
                sums, count = (running[at + 1] - running[at]).sum(axis=0), len(at)
            gain[k] = sums[0] ** 2 / max(count - float(sums[1:] @ sums[1:]), 1e-6 * count)
        # Of equals the first is taken, whatever the last bits say.
        gain = np.round(gain / max(float(gain.max()), 1e-300), 7)
        parts = np.arange(len(all_of)) * _PARTS // len(all_of)
        best = [int(np.argmax(np.where(parts == part, gain, -1.0))) for part in range(_PARTS)]
        most = np.argsort(-gain, kind="stable")[:_SEEM]
        # What lies beside a burr may be hidden by what the form makes of it.
        beside = np.clip(np.concatenate([most - 1, most + 1]), 0, len(all_of) - 1)
        return np.unique(np.concatenate([most, beside, best]))
