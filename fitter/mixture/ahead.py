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


def variance_left(
    model: Mixture, longer: Sequence[Stations], fresh: NDArray[np.bool_], ways: Sequence[Ints]
) -> list[float]:
    """The share of the vector's variance, both components together, that each way of reading on leaves.

    longer: the sweeps of the model, then perhaps new ones, with all rows that any way adds. What those read
        is looked at for nothing but whether it rises or falls.
    fresh: which rows are added, (n,). ways: which of the added rows each way takes.
    """
    now = _Parts(model, model.columns, np.zeros(len(model.columns.flat), dtype=bool))
    then = _Parts(model, layout(longer, walks=model.known.drift_mm is not None), fresh)
    before = now.variance(now.covariance)
    return [then.variance_after(way) / before for way in ways]


class _Parts:
    """The likeliest parts of a model with all their unknowns, in a layout of which some rows are not read
    yet.

    covariance: of the unknowns as the rows that were read leave them, (m, p, p).
    """

    def __init__(self, model: Mixture, columns: Layout, fresh: NDArray[np.bool_]) -> None:
        order = np.argsort(-model.weight, kind="stable")[:_MOST]
        parts = order[: int(np.searchsorted(np.cumsum(model.weight[order]), _SHARE)) + 1]
        node = model.parts.node[parts]
        self._weight = model.weight[parts] / model.weight[parts].sum()
        faults, sizes = _faults(columns, [_suspected(model, part) for part in parts.tolist()])
        groups = (columns.flat, columns.oval, columns.form, columns.drift, columns.sense)
        table = np.column_stack(groups)
        rows = np.concatenate([np.broadcast_to(table, (len(parts), *table.shape)), faults], axis=2)
        precision = np.concatenate([_precision(model, groups, node), 1.0 / sizes**2], axis=1)
        read, self._fresh = rows[:, ~fresh], rows[:, fresh]
        known = model.known.resolution + model.known.by_angle
        noise = np.tile(model.grid.noise, len(model.grid.variances))[node]
        weighted = read / (noise[:, None] + known)[:, :, None]
        told = np.swapaxes(read, 1, 2) @ weighted
        self.covariance = np.asarray(np.linalg.inv(told + _diagonal(precision)), dtype=np.float64)
        self._noise = noise + float(known.mean())
        self._vector = [columns.flat.shape[1] - 2, columns.flat.shape[1] - 1]

    def variance(self, covariance: Floats) -> float:
        """Of both components of the vector together, of all parts."""
        return float(self._weight @ covariance[:, self._vector, self._vector].sum(axis=1))

    def variance_after(self, way: Ints) -> float:
        """The same once some of the rows that are not read yet are."""
        rows = self._fresh[:, way]
        seen = rows @ self.covariance
        spread = seen @ np.swapaxes(rows, 1, 2) + self._noise[:, None, None] * np.eye(len(way))
        told: Floats = np.swapaxes(seen, 1, 2) @ np.linalg.solve(spread, seen)
        return self.variance(self.covariance - told)


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
