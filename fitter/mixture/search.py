"""Which faults a sweep may have had, alone and together: each is a hypothesis with a chance beforehand."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

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
    """The evidence once some faults are believed."""

    faults: frozenset[int]
    log: Floats
    vector: Floats
    covariance: Floats
    shift: Floats
    room: Floats
    pull: Floats
    steps: tuple[tuple[Floats, Floats], ...] = field(default=())

    def beside(self, seen: Evidence, i: int, size: float, chance: float) -> "_State":
        """With one more fault, of `size` mm."""
        step = self.room[:, i] + 1.0 / size**2
        amount = self.pull[:, i] / step
        cross = seen.cross(i)
        for before, by in self.steps:
            cross = cross - before * (before[:, i] / by)[:, None]
        share = cross / step[:, None]
        shift = self.shift[:, i]
        return _State(
            faults=self.faults | {i},
            log=self.log - 0.5 * np.log(step * size**2) + 0.5 * self.pull[:, i] * amount + np.log(chance),
            vector=self.vector - shift * amount[:, None],
            covariance=self.covariance + shift[:, :, None] * shift[:, None, :] / step[:, None, None],
            shift=self.shift - shift[:, None, :] * share[:, :, None],
            room=np.maximum(self.room - cross * share, 0.0),
            pull=self.pull - share * self.pull[:, i, None],
            steps=(*self.steps, (cross, step)),
        )


def search(seen: Evidence, suspects: Sequence[Suspect], known: float = -math.inf) -> Parts:
    """Every set of faults that is worth a thought, weighed. known: logarithm of a weight that something else
    explains the readings with."""
    sound = 1.0 - math.fsum(one.chance for one in suspects)
    root = _State(
        frozenset(), seen.log + np.log(sound), seen.vector, seen.covariance, seen.shift, seen.room, seen.pull
    )
    found = _Found(known)
    found.add(root.faults, root.log, np.arange(len(root.log)), root.vector, root.covariance)
    states = [root]
    for depth in range(_DEEPEST if suspects else 0):
        nexts = [one for state in states for one in _one_more(state, suspects, found)]
        nexts.sort(key=lambda one: -round(one[0], _TIED))
        least = np.log(_TELLING) + found.total()
        # A burr lies on two places: half of it may explain less than nothing does elsewhere.
        if depth == 0 and nexts and nexts[0][0] < least and nexts[0][0] > _summed(root.log):
            least = nexts[0][0] - 1.0
        states = [
            state.beside(seen, i, size, chance)
            for total, state, i, size, chance in nexts[:_MOST_BESIDE]
            if total > least
        ]
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
        room, pull = state.room[:, told], state.pull[:, told]
        chance = suspects[told[0]].chance
        of_size = []
        for size, share in fault.sizes:
            step = room + 1.0 / (size * MM_PER_THOU) ** 2
            log = state.log[:, None] - 0.5 * np.log(step * (size * MM_PER_THOU) ** 2) + 0.5 * pull**2 / step
            log += np.log(chance * share * more)
            of_size.append(_summed(log))
            node, which = np.nonzero(log > found.least())
            amount, shift = (pull / step)[node, which], state.shift[node, np.array(told)[which]]
            spread = shift[:, :, None] * shift[:, None, :] / step[node, which, None, None]
            found.add_each(
                [state.faults | {i} for i in told],
                which,
                log[node, which],
                node,
                state.vector[node] - shift * amount[:, None],
                state.covariance[node] + spread,
            )
        best = np.argmax(np.round(of_size, _TIED), axis=0)
        total = np.logaddexp.reduce(of_size)
        for k in np.argsort(-np.round(total, _TIED), kind="stable")[:_MOST_BESIDE].tolist():
            size, share = fault.sizes[best[k]]
            yield float(total[k]), state, told[k], size * MM_PER_THOU, chance * share * more


def _summed(log: Floats) -> Floats:
    most = log.max(axis=0)
    return np.asarray(most + np.log(np.exp(log - most).sum(axis=0)))


class _Found:
    """Parts as they are found."""

    def __init__(self, known: float) -> None:
        self._sets: dict[frozenset[int], int] = {}
        self._rows: list[tuple[Floats, Floats, Floats, Ints, Ints]] = []
        self._known = self._most = known

    def least(self) -> float:
        """The least logarithm of a weight that counts."""
        return float(self._most + np.log(_NOTHING))

    def has(self, faults: frozenset[int]) -> bool:
        """Whether a set of faults was weighed."""
        return faults in self._sets

    def total(self) -> float:
        """Logarithm of all weights."""
        return float(_summed(np.concatenate([np.array([self._known]), *(row[0] for row in self._rows)])))

    def add(
        self, faults: frozenset[int], log: Floats, node: Ints, vector: Floats, covariance: Floats
    ) -> None:
        self.add_each([faults], np.zeros(len(log), dtype=np.int64), log, node, vector, covariance)

    def add_each(
        self,
        sets: Sequence[frozenset[int]],
        which: Ints,
        log: Floats,
        node: Ints,
        vector: Floats,
        covariance: Floats,
    ) -> None:
        names = np.array([self._sets.setdefault(one, len(self._sets)) for one in sets])
        self._rows.append((log, vector, covariance, node, names[which]))
        self._most = max(self._most, float(log.max(initial=-np.inf)))

    def parts(self, nodes: int) -> Parts:
        log, vector, covariance, node, faults = (
            np.concatenate(column) for column in zip(*self._rows, strict=True)
        )
        kept = log > self.least()
        return Parts(
            log[kept], vector[kept], covariance[kept], node[kept], faults[kept], tuple(self._sets), nodes
        )
