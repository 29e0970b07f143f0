"""Which faults a sweep may have had, alone and together: each is a hypothesis with a chance beforehand."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats
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

_NOTHING = 1e-6
"""Share of the largest part below which one is left out."""


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
    kept = log > log.max() + np.log(_NOTHING)
    nodes = sum(one.nodes for one in parts)
    return Parts(log[kept], vector[kept], covariance[kept], node[kept], faults[kept], tuple(sets), nodes)


@dataclass(frozen=True, slots=True)
class _State:
    """The evidence once some faults are believed.

    log: (g,). vector: (2, g). covariance: (2, 2, g). room, pulls: as in `Evidence`. steps: of the faults, one
    after another.
    """

    faults: frozenset[int]
    log: Floats
    vector: Floats
    covariance: Floats
    room: Floats
    pulls: Floats
    steps: tuple[tuple[Floats, Floats], ...] = ()

    def beside(self, seen: Evidence, i: int, size: float, chance: float) -> "_State":
        """With one more fault, of `size` mm."""
        step = self.room[i] + 1.0 / size**2
        cross = seen.cross(i)
        for before, by in self.steps:
            cross -= before * (before[i] / by)
        share = cross / step
        own = self.pulls[:, i]
        pull, shift = own[0], own[1:]
        return _State(
            faults=self.faults | {i},
            log=self.log - 0.5 * np.log(step * size**2) + 0.5 * pull**2 / step + np.log(chance),
            vector=self.vector - shift * (pull / step),
            covariance=self.covariance + shift[:, None] * shift / step,
            room=np.maximum(self.room - cross * share, 0.0),
            pulls=self.pulls - own[:, None] * share,
            steps=(*self.steps, (cross, step)),
        )


def search(seen: Evidence, suspects: Sequence[Suspect], known: float = -math.inf) -> Parts:
    """Every set of faults that is worth a thought, weighed. known: logarithm of a weight that something else
    explains the readings with."""
    sound = 1.0 - math.fsum(one.chance for one in suspects)
    root = _State(
        frozenset(),
        seen.log + np.log(sound),
        seen.vector.T,
        np.moveaxis(seen.covariance, 0, -1),
        seen.room,
        seen.pulls,
    )
    found = _Found(known)
    every = np.arange(len(root.log))
    found.add([root.faults], np.zeros_like(every), every, root.log, root.vector, root.covariance)
    states = [root]
    for depth in range(_DEEPEST if suspects else 0):
        nexts = [one for state in states for one in _one_more(state, suspects, found)]
        nexts.sort(key=lambda one: -round(one[0], _TIED))
        least = np.log(_TELLING) + found.total()
        # A burr lies on two places: half of it may explain less than nothing does elsewhere.
        if depth == 0 and nexts and nexts[0][0] < least and nexts[0][0] > _summed(root.log):
            least = nexts[0][0] - 1.0
        told = [one for one in nexts[:_MOST_BESIDE] if one[0] > least]
        if told and depth == 0:
            # Knocks about a burr may hide that it is one, as long as they are looked at one by one.
            kinds = {suspects[i].knock for _, _, i, _, _ in told}
            told += [one for one in nexts if suspects[one[2]].knock not in kinds][:1]
        states = [state.beside(seen, i, size, chance) for _, state, i, size, chance in told]
        if not states:
            break
    return found.parts(len(seen.log))


def _one_more(
    state: _State, suspects: Sequence[Suspect], found: "_Found"
) -> Iterator[tuple[float, _State, int, float, float]]:
    """Adds the state with each suspect for one more fault, and gives how likely the likeliest are:
    logarithm of the weight, the state, the suspect, its usual size and its chance."""
    more = priors.BESIDE if state.faults else 1.0
    for knock, fault in ((True, priors.KNOCK), (False, priors.BAD)):
        fresh = [i for i, one in enumerate(suspects) if one.knock == knock and i not in state.faults]
        told = [i for i in fresh if not found.has(state.faults | {i})]
        if not told:
            continue
        room, pulls = state.room[told], state.pulls[:, told].reshape(3, -1)
        size, share = np.array(fault.sizes).T[:, :, None, None]
        size, chance = size * MM_PER_THOU, suspects[told[0]].chance * share * more
        step = room + 1.0 / size**2
        log = np.log(step * size**2) - pulls[0].reshape(room.shape) ** 2 / step
        log *= -0.5
        log += state.log + np.log(chance)
        of_size = _summed(log)
        at = np.flatnonzero(log > found.least(log))
        here = at % room.size
        which, node = np.divmod(here, room.shape[1])
        by, (pull, *shift) = step.take(at), pulls.take(here, axis=1)
        moved = np.array(shift)
        found.add(
            [state.faults | {i} for i in told],
            which,
            node,
            log.take(at),
            state.vector.take(node, axis=-1) - moved * (pull / by),
            state.covariance.take(node, axis=-1) + moved[:, None] * moved / by,
        )
        best = np.argmax(np.round(of_size, _TIED), axis=0)
        total = np.logaddexp.reduce(of_size)
        for k in np.argsort(-np.round(total, _TIED), kind="stable")[:_MOST_BESIDE].tolist():
            yield float(total[k]), state, told[k], float(size[best[k], 0, 0]), float(chance[best[k], 0, 0])


def _summed(log: Floats) -> Floats:
    most = log.max(axis=-1)
    return np.asarray(most + np.log(np.exp(log - most[..., None]).sum(axis=-1)))


class _Found:
    """Parts as they are found."""

    def __init__(self, known: float) -> None:
        self._sets: dict[frozenset[int], int] = {}
        self._rows: list[tuple[Floats, Floats, Floats, Ints, Ints]] = []
        self._known = self._most = known

    def least(self, log: Floats) -> float:
        """The least logarithm of a weight that counts, beside these as well."""
        return max(self._most, float(log.max(initial=-np.inf))) + math.log(_NOTHING)

    def has(self, faults: frozenset[int]) -> bool:
        """Whether a set of faults was weighed."""
        return faults in self._sets

    def total(self) -> float:
        """Logarithm of all weights."""
        return float(_summed(np.concatenate([np.array([self._known]), *(row[0] for row in self._rows)])))

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
        self._most = max(self._most, float(log.max(initial=-np.inf)))

    def parts(self, nodes: int) -> Parts:
        log, vector, covariance, node, faults = (
            np.concatenate(column, axis=-1) for column in zip(*self._rows, strict=True)
        )
        kept = np.flatnonzero(log > self.least(log))
        log, vector, covariance, node, faults = (
            column.take(kept, axis=-1) for column in (log, vector, covariance, node, faults)
        )
        sets = tuple(self._sets)
        return Parts(log, vector.T, np.moveaxis(covariance, -1, 0), node, faults, sets, nodes)
