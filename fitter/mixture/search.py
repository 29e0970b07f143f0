"""Which faults a sweep may have had, alone and together: each is a hypothesis with a chance beforehand."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats
from ..numeric.logs import log_sum
from ..reading.stations import Ints
from ..units import MM_PER_THOU
from . import priors
from .evidence import Evidence
from .suspects import Suspect

_TELLING = 0.001
"""Share of all from which a hypothesis is worth looking for one more fault beside it."""

_MOST_BESIDE = 4
"""Hypotheses that are looked beside, in each round."""

_DEEPEST = 4

_TIED = 7
"""Decimals of a logarithm by which hypotheses are ordered: of two that explain the same equally well the
first is looked at, whatever the last bits say."""

_NOTHING = 1e-5
"""Share of the largest part below which one is left out."""

_ROOM = (priors.BAD.sizes[-1][0] * MM_PER_THOU) ** -2
"""No fault is larger: least of the room that is left to one, mm^-2."""

_NONE, _TINY = np.zeros(0), 1e-300


@dataclass(frozen=True, slots=True)
class Parts:
    """What the posterior is made of: m normal vectors.

    log: logarithms of their weights, (m,). vector: (m, 2). covariance: (m, 2, 2). node: of the grid, (m,).
    faults: which of `sets` each has, (m,). sets: of suspects that are faults, the empty one first.
    nodes: of the whole grid.
    """

    log: Floats
    vector: Floats
    covariance: Floats
    node: Ints
    faults: Ints
    sets: tuple[frozenset[int], ...]
    nodes: int


def joined(parts: Sequence[Parts], logs: Sequence[float]) -> Parts:
    """Parts under one tie each as those of all: nodes one after another. logs: weights of the ties."""
    if len(parts) == 1:
        return parts[0]
    sets: dict[frozenset[int], int] = {}
    rows = []
    for k, (one, more) in enumerate(zip(parts, logs, strict=True)):
        names = np.array([sets.setdefault(each, len(sets)) for each in one.sets])
        rows.append((one.log + more, one.vector, one.covariance, one.node + k * one.nodes, names[one.faults]))
    log, vector, covariance, node, faults = (np.concatenate(column) for column in zip(*rows, strict=True))
    kept = log >= log.max() + np.log(_NOTHING)
    nodes = sum(one.nodes for one in parts)
    return Parts(log[kept], vector[kept], covariance[kept], node[kept], faults[kept], tuple(sets), nodes)


@dataclass(frozen=True, slots=True)
class _State:
    """The evidence once some faults are believed.

    node: which of the grid are left, (g,). log: (g,). vector: (2, g). covariance: (2, 2, g). room, pulls: as
    in `Evidence`. steps: of the faults, one after another.
    """

    faults: frozenset[int]
    node: Ints
    log: Floats
    vector: Floats
    covariance: Floats
    room: Floats
    pulls: Floats
    steps: tuple[tuple[Floats, Floats], ...] = ()

    def beside(self, seen: Evidence, i: int, size: float, log_chance: float) -> "_State":
        """With one more fault, of `size` mm."""
        step = self.room[i] + 1.0 / size**2
        cross = seen.cross(i).take(self.node, axis=1)
        for before, by in self.steps:
            cross -= before * (before[i] / by)
        share = cross / step
        own = self.pulls[:, i]
        pull, shift = own[0], own[1:]
        return _State(
            faults=self.faults | {i},
            node=self.node,
            log=self.log - 0.5 * np.log(step * size**2) + 0.5 * pull**2 / step + log_chance,
            vector=self.vector - shift * (pull / step),
            covariance=self.covariance + shift[:, None] * shift / step,
            room=np.maximum(self.room - cross * share, 0.0),
            pulls=self.pulls - own[:, None] * share,
            steps=(*self.steps, (cross, step)),
        )

    def worth(self, least: float) -> "_State":
        """The same at the nodes where more faults may explain enough, each as much as the one that does most.
        least: the least logarithm of a weight that counts."""
        more = (self.pulls[0] ** 2 / (self.room + _ROOM)).max(axis=0) / 2.0 * (_DEEPEST - len(self.faults))
        left = np.flatnonzero(self.log + more >= least)
        log, vector, covariance, room, pulls = (
            each.take(left, axis=-1)
            for each in (self.log, self.vector, self.covariance, self.room, self.pulls)
        )
        steps = tuple((cross.take(left, axis=-1), step.take(left)) for cross, step in self.steps)
        return _State(self.faults, self.node.take(left), log, vector, covariance, room, pulls, steps)


@dataclass(frozen=True, slots=True)
class _Sizes:
    """How large each of h suspects may be, (z, h, 1): sizes, mm, and logarithms of their chances."""

    size: Floats
    log_chance: Floats

    @classmethod
    def of(cls, suspects: Sequence[Suspect]) -> "_Sizes":
        faults = [priors.KNOCK if one.knock else priors.BAD for one in suspects]
        most = max(len(fault.sizes) for fault in faults)
        # Of a kind with fewer sizes the rest have no chance.
        sizes = np.array([[*fault.sizes, *[(1.0, 0.0)] * (most - len(fault.sizes))] for fault in faults])
        chance = sizes[:, :, 1] * [[one.chance] for one in suspects]
        with np.errstate(divide="ignore"):
            return cls(sizes[:, :, 0].T[:, :, None] * MM_PER_THOU, np.log(chance).T[:, :, None])


@dataclass(frozen=True, slots=True)
class _Next:
    """A state and one more fault. log: how likely, at all sizes together. size, log_chance: the likeliest."""

    log: float
    state: _State
    fault: int
    size: float
    log_chance: float


def search(seen: Evidence, suspects: Sequence[Suspect], known: float = -math.inf) -> Parts:
    """Every set of faults that is worth a thought, weighed. known: logarithm of a weight that something else
    explains the readings with."""
    sound = 1.0 - math.fsum(one.chance for one in suspects)
    every = np.arange(len(seen.log))
    root = _State(
        frozenset(),
        every,
        seen.log + np.log(sound),
        seen.vector.T,
        np.moveaxis(seen.covariance, 0, -1),
        seen.room,
        seen.pulls,
    )
    found = _Found(known)
    found.add([root.faults], np.zeros_like(every), every, root.log, root.vector, root.covariance)
    if not suspects:
        return found.parts(len(seen.log))
    states, sizes = [root], _Sizes.of(suspects)
    for depth in range(_DEEPEST):
        nexts = [one for state in states for one in _one_more(state.worth(found.least()), sizes, found)]
        nexts.sort(key=lambda one: -round(one.log, _TIED))
        least = np.log(_TELLING) + found.total
        # A burr lies on two places: half of it may explain less than nothing does elsewhere.
        if depth == 0 and nexts and log_sum(root.log) < nexts[0].log < least:
            least = nexts[0].log - 1.0
        told = [one for one in nexts[:_MOST_BESIDE] if one.log > least]
        if told and depth == 0:
            # Knocks about a burr may hide that it is one, as long as they are looked at one by one.
            kinds = {suspects[one.fault].knock for one in told}
            told += [one for one in nexts if suspects[one.fault].knock not in kinds][:1]
        states = [one.state.beside(seen, one.fault, one.size, one.log_chance) for one in told]
        if not states:
            break
    return found.parts(len(seen.log))


def _one_more(state: _State, sizes: _Sizes, found: "_Found") -> list[_Next]:
    """Adds the state with each suspect for one more fault."""
    fresh = [i for i in range(len(state.room)) if i not in state.faults and not found.has(state.faults | {i})]
    if not fresh:
        return []
    size, log_chance = sizes.size[:, fresh], sizes.log_chance[:, fresh]
    if state.faults:
        log_chance = log_chance + math.log(priors.BESIDE)
    room, pulls = state.room[fresh], state.pulls[:, fresh].reshape(3, -1)
    step = room + size**-2.0
    log = np.log(step * size**2) - pulls[0].reshape(room.shape) ** 2 / step
    log *= -0.5
    log += state.log + log_chance
    at = np.flatnonzero(log >= found.least(log))
    here, log = at % room.size, log.take(at)
    which, node = np.divmod(here, room.shape[1])
    of_size = _log_sums(at // room.shape[1], log, size.shape[:2])
    by, (pull, *shift) = step.take(at), pulls.take(here, axis=1)
    moved = np.array(shift)
    found.add(
        [state.faults | {i} for i in fresh],
        which,
        state.node.take(node),
        log,
        state.vector.take(node, axis=-1) - moved * (pull / by),
        state.covariance.take(node, axis=-1) + moved[:, None] * moved / by,
    )
    best = np.argmax(np.round(of_size, _TIED), axis=0)
    every = np.arange(len(fresh))
    told = (np.logaddexp.reduce(of_size), size[best, every, 0], log_chance[best, every, 0])
    return [
        _Next(log, state, i, size, chance)
        for i, log, size, chance in zip(fresh, *(each.tolist() for each in told), strict=True)
    ]


def _log_sums(which: Ints, log: Floats, shape: tuple[int, ...]) -> Floats:
    """Logarithms of sums of weights, of this shape. which: the sum that each counts for."""
    most = log.max(initial=-np.inf)
    sums = np.bincount(which, np.exp(log - most), math.prod(shape)).reshape(shape)
    return np.asarray(np.log(np.maximum(sums, _TINY)) + most)


class _Found:
    """Parts as they are found. total: logarithm of all weights."""

    def __init__(self, known: float) -> None:
        self._sets: dict[frozenset[int], int] = {}
        self._rows: list[tuple[Floats, Floats, Floats, Ints, Ints]] = []
        self._most = self.total = known

    def least(self, log: Floats = _NONE) -> float:
        """The least logarithm of a weight that counts, beside these as well."""
        return max(self._most, float(log.max(initial=-np.inf))) + math.log(_NOTHING)

    def has(self, faults: frozenset[int]) -> bool:
        """Whether a set of faults was weighed."""
        return faults in self._sets

    def add(
        self,
        sets: Sequence[frozenset[int]],
        which: Ints,
        node: Ints,
        log: Floats,
        vector: Floats,
        covariance: Floats,
    ) -> None:
        """Parts, (m,): the last two as they are in a state."""
        names = np.array([self._sets.setdefault(one, len(self._sets)) for one in sets])
        self._rows.append((log, vector, covariance, node, names.take(which)))
        if len(log):
            self._most = max(self._most, float(log.max()))
            self.total = float(np.logaddexp(self.total, log_sum(log)))

    def parts(self, nodes: int) -> Parts:
        log, vector, covariance, node, faults = (
            np.concatenate(column, axis=-1) for column in zip(*self._rows, strict=True)
        )
        kept = np.flatnonzero(log >= self.least(log))
        log, vector, covariance, node, faults = (
            column.take(kept, axis=-1) for column in (log, vector, covariance, node, faults)
        )
        sets = tuple(self._sets)
        return Parts(log, vector.T, np.moveaxis(covariance, -1, 0), node, faults, sets, nodes)
