"""Which dowel sizes to keep where the two dowels of an engine may be unlike, by simulation.

Engines are drawn from the population, evenly (a low-discrepancy sequence: I. M. Sobol', USSR Comput. Math.
Math. Phys. 7 (1967) 86), and so are the slips of whoever makes, measures and sets. For each pair of sizes the
angles at which the two holes agree within the clearance form curves; on each the point that leaves the engine
least is taken, and judged by all slips without any small-angle shortcut: does the housing go on, and end
inside? The same slips serve every size, so that sizes are compared and not luck.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from ..dowels.pins import Pins
from ..dowels.seating import MOST_TURN_DEG
from ..numeric.basis import Floats
from .parallelstock import Population, Work, as_it_is

ENGINES = 256
SLIPS = 64
_STEP_DEG = 4.0
_BINDS = (-0.5, 0.0, 0.5)
"""Of the clearance, at which a pair is aimed: nearer its ends hands miss it too often."""

_EVERY = 20_000
"""Sets up to which all are looked at; beyond, the best exchanges of one size are made until none helps."""

_HELPED = 0.01


@dataclass(frozen=True, slots=True)
class MixedChoice:
    """sizes: offsets in mm, ascending. inside: share of engines inside after one round. pairs: offsets
    of the two dowels, and the share of the engines that get them; the rest need none or are beyond help."""

    sizes: tuple[float, ...]
    inside: float
    pairs: tuple[tuple[float, float, float], ...]


class MixedStock:
    """Engines of a population, and what any two of the sizes offered do for them."""

    def __init__(
        self, population: Population, work: Work, sizes: Sequence[float], engines: int = ENGINES
    ) -> None:
        """sizes: offsets to choose from, mm. Raises ValueError where the holes are not known."""
        if work.pins is None:
            raise ValueError("where the holes are must be known for unlike dowels")
        self.sizes = sorted(set(sizes) - {0.0})
        known, unsure = population.as_known(work.measuring_sd)
        work = replace(work, measuring_sd=unsure)
        self._engines = drawn(known, engines)
        slips = _even(SLIPS, 6, seed=2)
        self._none = as_it_is(np.hypot(*self._engines.T), work.limit, unsure)
        self._served: dict[tuple[int, int], Floats] = {}
        for i, first in enumerate(self.sizes):
            for j, second in enumerate(self.sizes):
                served = _served(self._engines, (first, second), work, slips)
                key = (min(i, j), max(i, j))
                self._served[key] = np.maximum(self._served[key], served) if key in self._served else served

    def curve(self, most: int) -> list[MixedChoice]:
        """The best sets found of 1, 2 ... `most` sizes. Raises ValueError where there are fewer."""
        k = len(self.sizes)
        if not 1 <= most <= k:
            raise ValueError(f"{k} sizes are offered: ask for 1 to {k} of them")
        choices: list[MixedChoice] = []
        best: tuple[int, ...] = ()
        for n in range(1, most + 1):
            best = self._best(n, best)
            choices.append(self._of(best))
        return choices

    def _best(self, n: int, smaller: tuple[int, ...]) -> tuple[int, ...]:
        every = range(len(self.sizes))
        if math.comb(len(self.sizes), n) <= _EVERY:
            return max(combinations(every, n), key=self._value)
        best = max((tuple(sorted({*smaller, c})) for c in every if c not in smaller), key=self._value)
        while True:
            swaps = (tuple(sorted({*best} - {a} | {c})) for a in best for c in every if c not in best)
            better = max(swaps, key=self._value)
            if self._value(better) <= self._value(best):
                return best
            best = better

    def _value(self, kept: Sequence[int]) -> float:
        served = self._none
        for a, i in enumerate(kept):
            for j in kept[a:]:
                served = np.maximum(served, self._served[i, j])
        return float(served.mean())

    def _of(self, kept: Sequence[int]) -> MixedChoice:
        pairs = [(i, j) for a, i in enumerate(kept) for j in kept[a:]]
        served = np.array([self._none, *(self._served[pair] for pair in pairs)])
        best, helped = served.argmax(axis=0), served.max(axis=0) > _HELPED
        shares = [
            (self.sizes[i], self.sizes[j], float(((best == k) & helped).mean()))
            for k, (i, j) in enumerate(pairs, 1)
        ]
        return MixedChoice(
            tuple(self.sizes[i] for i in kept),
            float(served.max(axis=0).mean()),
            tuple(pair for pair in shares if pair[2] > 0.0),
        )


def drawn(population: Population, engines: int) -> Floats:
    """Found vectors of so many engines, shape (engines, 2), mm, evenly drawn."""
    even = _even(engines, 3, seed=1)
    root = np.linalg.cholesky(np.array(population.covariance) + 1e-12 * np.eye(2))
    return np.asarray(
        np.array(population.mean) + (even[:, :2] @ root.T) * population.stretch(even[:, 2])[:, None]
    )


def _even(count: int, dimensions: int, seed: int) -> Floats:
    """Standard normal numbers that leave no gaps, (count, dimensions)."""
    from scipy.special import ndtri
    from scipy.stats.qmc import Sobol

    power = math.ceil(math.log2(count))
    return np.asarray(ndtri(Sobol(dimensions, seed=seed).random_base2(power)[:count]))


def _served(engines: Floats, pair: tuple[float, float], work: Work, slips: Floats) -> Floats:
    """Chance of each engine to go on and end inside with these two dowels, the first in the first hole.
    slips: normal numbers for what goes wrong with offsets, angles and the measured vector, (slips, 6)."""
    assert work.pins is not None
    radians, level = _agreeing(pair, work.pins, work.clearance)
    if len(radians) == 0:
        return np.zeros(len(engines))
    offsets = np.array(pair)
    aimed, _ = work.pins.carry(offsets, radians)
    chosen = []
    for k in range(len(_BINDS)):
        here = np.flatnonzero(level == k)
        if len(here):
            # |E + T|^2 less |E|^2, which is the same for all. What angles that miss will add is no part
            # of it: where it is least, a miss binds most, and fewer would end inside.
            left = 2.0 * engines @ aimed[here].T + (aimed[here] ** 2).sum(axis=1)
            chosen.append(here[left.argmin(axis=1)])
    used, back = np.unique(np.array(chosen), return_inverse=True)
    moved, on = _set(offsets, radians[used], work, slips)
    measured = work.measuring_sd * slips[:, 4:]
    best = np.zeros(len(engines))
    for at in back.reshape(len(chosen), len(engines)):
        x, y = (engines[:, None, k] + (measured + moved[at])[:, :, k] for k in (0, 1))
        inside = on[at] & (x * x + y * y <= (work.limit / 2.0) ** 2)
        best = np.maximum(best, inside.mean(axis=1))
    return best


def _agreeing(pair: tuple[float, float], pins: Pins, clearance: float) -> tuple[Floats, Floats]:
    """Angles (radians, (n, 2)) of the two at which the holes agree but for some of the clearance, and which
    share of it that is."""
    along, _, _ = pins.axes()
    line = math.atan2(along[0], along[1])
    first = np.deg2rad(np.arange(0.0, 360.0, _STEP_DEG))
    found, levels = [], []
    for k, share in enumerate(_BINDS):
        cosine = (pair[0] * np.cos(first - line) + share * clearance) / pair[1]
        able = np.abs(cosine) <= 1.0
        away = np.arccos(cosine[able])
        for sign in (1.0, -1.0):
            found.append(np.column_stack([first[able], line + sign * away]))
            levels.append(np.full(int(able.sum()), float(k)))
    return np.concatenate(found), np.concatenate(levels)


def _set(
    offsets: Floats, radians: Floats, work: Work, slips: Floats
) -> tuple[Floats, "np.ndarray[tuple[int, ...], np.dtype[np.bool_]]"]:
    """Where the bore ends with each slip, (settings, slips, 2), and whether the housing goes on. "free": both
    dowels are turned by the least rotation that brings the bind within the clearance."""
    assert work.pins is not None
    made = np.broadcast_to(offsets + work.size_sd * slips[:, :2], (len(radians), SLIPS, 2))
    at = start = radians[:, None, :] + math.radians(work.setting_sd) * slips[:, 2:4]
    moved, bind = work.pins.carry(made, at)
    if work.way == "free":
        along, _, _ = work.pins.axes()
        for _ in range(4):
            over = bind - np.clip(bind, -work.clearance, work.clearance)
            across = np.cos(at) * along[0] - np.sin(at) * along[1]
            slope = made * across * np.array([-1.0, 1.0])
            size = np.maximum((slope**2).sum(axis=-1), 1e-12)
            at = at - np.clip((over / size)[..., None] * slope, -0.2, 0.2)
            moved, bind = work.pins.carry(made, at)
    turned = np.abs(at - start).max(axis=-1) <= math.radians(MOST_TURN_DEG)
    return moved, (np.abs(bind) <= work.clearance * (1.0 + 1e-3)) & turned
