"""How sure further readings would make the vector, before they are read.

What a reading tells of a normal vector depends on where it is taken, not on what it shows. With the columns X
of what was read, their sizes v and a scatter s, the unknowns have the covariance C, and further rows R leave
of it

    C - C R' (R C R' + s^2)^-1 R C          C = (X'X / s^2 + 1 / v)^-1

at each node of the model and beside each set of faults that is believed there. What they show tells nodes and
faults apart as well: if those of one come, of another as much is left as is expected by how far the two are
from each other in what they expect (S. Kullback and R. A. Leibler, Ann. Math. Statist. 22 (1951) 79; from
memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats
from ..numeric.quantiles import bins_of_size, normal_below
from ..reading.stations import Ints, Stations
from ..units import MM_PER_THOU
from .answer import Mixture
from .layout import Layout, layout
from .suspects import Suspect

_LIKE = 0.2
"""Logarithm by which the variances of parts may differ of which one is asked."""

_REACHES, _FAR = 24, 3.0
"""Half-widths that are tried, up to so many standard deviations of the largest part."""

_ANYWHERE_MM = 25.0
"""What is flat may be as large as this: of the mean of a sweep that is still to be made nothing is known."""

_KNOCK_MM, _BAD_MM = 8.0 * MM_PER_THOU, 10.0 * MM_PER_THOU
"""How large a fault that is believed may be: the larger of the usual sizes (`priors`)."""


@dataclass(frozen=True, slots=True)
class Then:
    """The vector once further readings have come.

    weight: of each part before, (m,). told: of each part, a column, if those of the row's part came, (m, m).
    before, covariance: of the vector by each, before and then, mm^2, (m, 2, 2).
    """

    weight: Floats
    told: Floats
    before: Floats
    covariance: Floats

    def unread(self) -> "Then":
        """The same before any came."""
        return replace(self, told=np.tile(self.weight, (len(self.weight), 1)), covariance=self.before)

    @property
    def mean(self) -> Floats:
        """Covariance of the vector, mm^2, (2, 2)."""
        return np.asarray(np.tensordot(self.weight @ self.told, self.covariance, 1))

    @property
    def share(self) -> float:
        """Of the vector's variance, both components together, that is left."""
        return float(np.trace(self.mean) / np.trace(np.tensordot(self.weight, self.before, 1)))

    def half_width(self, towards: Floats, beside: float) -> float:
        """What is expected of the half-width of the 95 % interval along a unit vector (2,), mm: its geometric
        mean, for it may as well be twice as it may be half. beside: variance that every part has besides,
        mm^2."""
        sd = np.sqrt(np.einsum("i,mij,j->m", towards, self.covariance, towards) + beside)
        log_reach = np.linspace(np.log(sd.min()), np.log(_FAR * sd.max()), _REACHES)
        held = self.told @ (2.0 * normal_below(np.exp(log_reach) / sd[:, None]) - 1.0)
        beyond = np.clip((held < 0.95).sum(axis=1), 1, _REACHES - 1)
        every = np.arange(len(held))
        low, high = held[every, beyond - 1], held[every, beyond]
        between = np.clip((0.95 - low) / np.maximum(high - low, 1e-12), 0.0, 1.0)
        found = log_reach[beyond] - (1.0 - between) * (log_reach[1] - log_reach[0])
        return float(np.exp(self.weight @ found))


class Ahead:
    """Parts that stand for a model, asked what further readings would make of them."""

    def __init__(self, model: Mixture) -> None:
        parts, self._weight = _standing_for(model)
        self._model, self._node = model, model.parts.node[parts]
        believed = [model.parts.sets[which] for which in model.parts.faults[parts].tolist()]
        self._faults = [[model.columns.suspects[i] for i in sorted(one)] for one in believed]
        known = model.known.resolution + model.known.by_angle
        noise = np.tile(model.grid.noise, len(model.grid.variances))[self._node]
        self._scatter, self._more = noise[:, None] + known, noise + float(known.mean())

    def after(self, longer: Sequence[Stations], fresh: NDArray[np.bool_], ways: Ints) -> list["Then"]:
        """What each of w ways of reading on leaves.

        longer: the sweeps of the model, then perhaps new ones, with all rows that any way adds. What those
            read is looked at for nothing but whether it rises or falls.
        fresh: which rows are added, (n,). ways: which of the added rows each way takes, (w, r).
        """
        columns = layout(longer, walks=self._model.known.drift_mm is not None)
        rows, covariance = self._unknown(columns, fresh)
        value = np.concatenate([sweep.value for sweep in longer])[~fresh]
        told = np.swapaxes(rows[:, ~fresh], 1, 2) @ ((value - value.mean()) / self._scatter)[:, :, None]
        expected = (rows[:, fresh] @ (covariance @ told))[:, :, 0]
        # The vector is the last of the unknowns that are flat.
        last = columns.flat.shape[1]
        vector = slice(last - 2, last)
        new, now = np.swapaxes(rows[:, fresh][:, ways], 0, 1), covariance[:, vector, vector]
        seen = new @ covariance  # (w, m, r, p)
        moved = np.swapaxes(seen[..., vector], 2, 3)
        scatter = self._more[:, None, None] * np.eye(ways.shape[1])
        spread = seen @ np.swapaxes(new, 2, 3) + scatter
        gone = moved @ np.linalg.solve(spread, np.swapaxes(moved, 2, 3))
        told_apart = _told_apart(self._weight, np.swapaxes(expected[:, ways], 0, 1), spread)
        pairs = zip(told_apart, now - gone, strict=True)
        return [Then(self._weight, told, now, left) for told, left in pairs]

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
        beforehand = precision[:, :, None] * np.eye(precision.shape[1])
        return rows, np.asarray(np.linalg.inv(told + beforehand), dtype=np.float64)


def _standing_for(model: Mixture) -> tuple[Ints, Floats]:
    """Parts that stand for all, and the weight of each: the likeliest of those of like size."""
    bins = bins_of_size(np.trace(model.parts.covariance, axis1=1, axis2=2), _LIKE)
    order = np.argsort(-model.weight, kind="stable")
    _, first, which = np.unique(bins[order], return_index=True, return_inverse=True)
    weight = np.bincount(which, model.weight[order])
    there = weight > 0.0
    return order[first[there]], weight[there] / weight.sum()


def _told_apart(weight: Floats, mean: Floats, covariance: Floats) -> Floats:
    """The weight of each part, a column, if readings come as the row's part expects them, (..., m, m).
    weight: as it is, (m,). mean, covariance: of the readings by each part, (..., m, r) and (..., m, r, r)."""
    flat = (*covariance.shape[:-2], -1)
    precision = np.linalg.inv(covariance)
    _, size = np.linalg.slogdet(covariance)
    scatter = covariance.reshape(flat) @ np.swapaxes(precision.reshape(flat), -1, -2)
    off = mean[..., :, None, :] - mean[..., None, :, :]
    away = (np.einsum("...jkr,...krs->...jks", off, precision) * off).sum(axis=-1)
    log = np.log(weight) - (scatter + away + size[..., None, :]) / 2.0
    share = np.exp(log - log.max(axis=-1, keepdims=True))
    return np.asarray(share / share.sum(axis=-1, keepdims=True))


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
