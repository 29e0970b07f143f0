"""How sure further readings would make the vector, before they are read.

What a reading tells of a normal vector depends on where it is taken, not on what it shows. With the columns X
of what was read, their sizes v and a scatter s, the unknowns have the covariance C, and further rows R leave
of it

    C - C R' (R C R' + s^2)^-1 R C          C = (X'X / s^2 + 1 / v)^-1

at each node of the model and beside each set of faults that is believed there. That the readings will tell
nodes and faults apart as well is left out: the bar turns out a little narrower than was promised.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats
from ..reading.stations import Ints, Stations
from ..units import MM_PER_THOU
from .answer import Mixture
from .layout import Layout, layout
from .suspects import Suspect

_MOST, _SHARE = 60, 0.98
"""The likeliest parts of a model that are asked, and the share of all of it at which there are enough of
them."""

_ANYWHERE_MM = 25.0
"""What is flat may be as large as this: of the mean of a sweep that is still to be made nothing is known."""

_KNOCK_MM, _BAD_MM = 8.0 * MM_PER_THOU, 10.0 * MM_PER_THOU
"""How large a fault that is believed may be: the larger of the usual sizes (`priors`)."""


class Ahead:
    """The likeliest parts of a model, asked what further readings would make of them."""

    def __init__(self, model: Mixture) -> None:
        order = np.argsort(-model.weight, kind="stable")[:_MOST]
        self._parts = order[: int(np.searchsorted(np.cumsum(model.weight[order]), _SHARE)) + 1]
        self._model, self._node = model, model.parts.node[self._parts]
        self._weight = model.weight[self._parts] / model.weight[self._parts].sum()
        self._faults = [_suspected(model, part) for part in self._parts.tolist()]
        known = model.known.resolution + model.known.by_angle
        noise = np.tile(model.grid.noise, len(model.grid.variances))[self._node]
        self._scatter, self._more = noise[:, None] + known, noise + float(known.mean())
        nothing = np.zeros(len(known), dtype=bool)
        self._before = self._variance(model.columns, self._unknown(model.columns, nothing)[1])

    def variance_left(
        self, longer: Sequence[Stations], fresh: NDArray[np.bool_], ways: Sequence[Ints]
    ) -> list[float]:
        """The share of the vector's variance, both components together, that each way of reading on leaves.

        longer: the sweeps of the model, then perhaps new ones, with all rows that any way adds. What those
            read is looked at for nothing but whether it rises or falls.
        fresh: which rows are added, (n,). ways: which of the added rows each way takes.
        """
        columns = layout(longer, walks=self._model.known.drift_mm is not None)
        rows, covariance = self._unknown(columns, fresh)
        now, new = self._variance(columns, covariance), rows[:, fresh]
        seen = new @ covariance
        both = np.swapaxes(seen[:, :, _vector(columns)], 1, 2)
        left = []
        for way in ways:
            moved = both[:, :, way]
            spread = seen[:, way] @ np.swapaxes(new[:, way], 1, 2) + self._more[:, None, None] * np.eye(
                len(way)
            )
            told = (moved * np.swapaxes(np.linalg.solve(spread, np.swapaxes(moved, 1, 2)), 1, 2)).sum((1, 2))
            left.append((now - float(self._weight @ told)) / self._before)
        return left

    def _unknown(self, columns: Layout, fresh: NDArray[np.bool_]) -> tuple[Floats, Floats]:
        """Rows of a layout with the faults of each part, (m, n, p), and the covariance of all unknowns as the
        rows that were read leave them, (m, p, p)."""
        faults, sizes = _faults(columns, self._faults)
        groups = (columns.flat, columns.oval, columns.form, columns.drift, columns.sense)
        table = np.column_stack(groups)
        rows = np.concatenate([np.broadcast_to(table, (len(self._node), *table.shape)), faults], axis=2)
        precision = np.concatenate([_precision(self._model, groups, self._node), 1.0 / sizes**2], axis=1)
        read = rows[:, ~fresh]
        told = np.swapaxes(read, 1, 2) @ (read / self._scatter[:, :, None])
        return rows, np.asarray(np.linalg.inv(told + _diagonal(precision)), dtype=np.float64)

    def _variance(self, columns: Layout, covariance: Floats) -> float:
        """Of both components of the vector together, of all parts."""
        at = _vector(columns)
        return float(self._weight @ covariance[:, at, at].sum(axis=1))


def _vector(columns: Layout) -> list[int]:
    """Which of the unknowns are the vector: the last of those that are flat."""
    last = columns.flat.shape[1]
    return [last - 2, last - 1]


def _suspected(model: Mixture, part: int) -> list[Suspect]:
    """The faults that are believed in a part."""
    return [model.columns.suspects[i] for i in sorted(model.parts.sets[int(model.parts.faults[part])])]


def _faults(columns: Layout, sets: Sequence[Sequence[Suspect]]) -> tuple[Floats, Floats]:
    """Columns of the faults of each part, (m, n, most), and how large each may be, mm, (m, most). Where there
    are fewer, columns of nothing."""
    most = max(map(len, sets))
    table, sizes = np.zeros((len(sets), len(columns.flat), most)), np.ones((len(sets), most))
    # A sweep's rows are those of its mean.
    ends = [*np.argmax(columns.flat[:, :-2] > 0.0, axis=0).tolist(), len(columns.flat)]
    for k, faults in enumerate(sets):
        for j, one in enumerate(faults):
            table[k, :, j] = one.column(ends)
            sizes[k, j] = _KNOCK_MM if one.knock else _BAD_MM
    return table, sizes


def _precision(model: Mixture, groups: Sequence[Floats], node: Ints) -> Floats:
    """One over the variance that each column may have beforehand, mm^-2, (m, columns)."""
    flat, oval, form, drift, sense = (group.shape[1] for group in groups)
    sizes = np.repeat(model.grid.variances, len(model.grid.noise), axis=0)[node]
    of = len(node)
    # A sweep that is new may drift as much as the others.
    moved = np.tile(sizes[:, oval + form, None], drift)
    groups = (np.full((of, flat), _ANYWHERE_MM**2), sizes[:, : oval + form], moved, np.ones((of, sense)))
    return 1.0 / np.maximum(np.concatenate(groups, axis=1), 1e-14)


def _diagonal(values: Floats) -> Floats:
    """Rows of numbers as diagonal matrices, (m, p, p)."""
    return values[:, :, None] * np.eye(values.shape[1])
