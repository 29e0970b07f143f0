"""Readings that are equal: is it the bore, or a plunger at its stop, a tip off the surface, a dial on hold?

Of a tip that is off, or a plunger at its stop, the flat readings are bounds: the bore would read lower
still (or higher), and the model says how likely that is (`fitter.mixture.bounds`). Of a dial that keeps its
largest reading those that do not rise are bounds too. Of a dial on hold those after the first are copies of
it. These are weighed against bores of every usual kind (`bores`), which must read the same at those places by
chance.
"""

from collections.abc import Iterator
from typing import Final

import numpy as np

from ..mixture.bounds import Bound
from ..numeric.logs import log_sum
from ..reading.stations import Ints
from ..result import Remark
from ..units import MM_PER_THOU
from .bores import odds
from .sweeping import Looked, Weighed

HELD, _KEPT, _STILL = 0.02, 0.01, 0.01
"""Sweeps whose dial is put on hold on the way; keeps its largest or smallest reading; in which nothing is
turned (common practice, no source)."""

_FEWEST: Final = 2

_ON_THE_WAY_MM: Final = 2.0 * MM_PER_THOU
"""By which a dial may have moved since the station before HOLD (common practice, no source)."""

_WORTH: Final = -6.0
"""Logarithm of odds from which it is worth knowing what it would mean."""

_EQUAL_MM: Final = 1e-9
"""Within which readings are equal but for the arithmetic."""

_UNEQUAL: Final = 30.0
"""Logarithm by which readings that differ may be less like those of a stop than equal ones."""

_STEPS: Final = (0.01, 1.01, 2.01)
"""Steps of the display by which the largest reading, that is kept, may flicker."""


def stops(looked: Looked, *, sure: bool = False) -> Iterator[tuple[Bound, Remark]]:
    """Where the tip may have been off, or the plunger at its stop, at some neighbouring places; the model
    weighs it. sure: somebody made sure that it was not."""
    stations = looked.stations
    _, place = np.unique(np.round(stations.deg) % 360.0, return_inverse=True)
    for sign in (1.0, -1.0):
        value = sign * looked.value
        order = np.argsort(value, kind="stable")
        for k in range(_FEWEST, len(value)):
            at = np.sort(order[:k])
            if not looked.flat(at):
                break
            if value[order[k]] - value[order[k - 1]] < _EQUAL_MM:
                continue  # what reads the same is at the stop too
            if not _neighbours(place, at) or not looked.rests(at[np.isin(at - 1, at)]):
                continue
            equal = looked.level(at)
            if equal < looked.at_most(at) - _UNEQUAL:
                continue
            level = np.full(len(at), sign * float(stations.value[at].mean()) + looked.count / 2.0)
            places = len(set(place[at].tolist()))
            reads = float(stations.value[at].mean())
            within = float(np.ptp(value[at]))
            facts = {"places": places, "reads_mm": reads, "within_mm": within, "lowest": sign > 0.0}
            yield Bound(at, sign, level, equal, looked.count, sure), Remark.warning("tip_off", **facts)


def _neighbours(place: Ints, at: Ints) -> bool:
    """Whether two places beside each other are among them. place: of each station, counted round."""
    flags = np.zeros(int(place.max()) + 1, dtype=bool)
    flags[place[at]] = True
    return bool((flags & np.roll(flags, 1)).any())


def holds(looked: Looked) -> Iterator[Weighed]:
    """That the dial was on hold from some station on: those after it are copies of it, or of what it read
    between that station and the next."""
    value, n = looked.value, len(looked)
    for first in range(1, n - _FEWEST):  # from the first on it is a dial that never moved (`still`)
        after = np.arange(first + 1, n)
        if not (looked.flat(after) and looked.rests(after[1:])):
            continue
        gone = float(value[after].mean() - value[first]) / _ON_THE_WAY_MM
        way = looked.level(after) - gone * gone / 2.0 - np.log(np.sqrt(2.0 * np.pi) * _ON_THE_WAY_MM)
        copied = float(np.logaddexp(looked.copies(value[after] - value[first:].mean(), after), way))
        read = log_sum(looked.so_far[:, first])
        weight = odds(read + (copied - np.log(2.0)), looked.plain, HELD / (n - 1 - _FEWEST))
        over = 1.0
        if weight > _WORTH:
            _, over = looked.beyond(value, np.arange(first + 1), np.empty(0))
        yield Weighed(weight, _held(looked, first, float(looked.stations.value[after].mean())), over)


def keeps(looked: Looked) -> Iterator[Weighed]:
    """That the dial showed the largest reading so far (or the smallest) in place of the newest."""
    n = len(looked)
    for sign in (1.0, -1.0):
        value = sign * looked.value
        for steps in _STEPS:
            room = steps * looked.count + 3.0 * looked.rest
            before = np.concatenate([[-np.inf], np.maximum.accumulate(value)[:-1]])
            risen = value > before + room
            if bool((value < before - room).any()) or n - int(risen.sum()) < _FEWEST + 1:
                continue
            known, rest = np.flatnonzero(risen), np.flatnonzero(~risen)
            if not looked.rests(rest):
                continue
            level = np.array([value[known[known < k][-1] : k + 1].mean() for k in rest.tolist()])
            beyond, over = looked.beyond(value, known, level + looked.count / 2.0)
            copied = looked.copies(value[rest] - level, rest)
            weight = odds(beyond + copied, looked.plain, _KEPT / (2.0 * len(_STEPS)))
            yield Weighed(weight, _held(looked, int(known[-1]), float(looked.stations.value[-1])), over)


def _held(looked: Looked, first: int, reads_mm: float) -> Remark:
    """That the dial showed this from some station on."""
    copies = looked.value[first + 1 :]
    after, within = float(looked.stations.deg[first]), float(np.ptp(copies)) if len(copies) else 0.0
    facts = {"stations": len(looked) - first, "reads_mm": reads_mm, "within_mm": within}
    return Remark.warning("held_dial", after_deg=after, **facts)


def still(looked: Looked) -> Iterator[Weighed]:
    """That all readings are of one place: the dial is dead or on hold, or the crank was not turned. No other
    clue can tell such readings from those of a bore that good."""
    every = np.arange(len(looked))
    if not (looked.flat(every) and looked.rests(every[1:])):
        return
    value, moved = looked.stations.value, looked.stations.moved
    facts = {"stations": len(looked), "reads_mm": float(value.mean())}
    weight = odds(looked.one_place(), looked.turned, _STILL)
    if bool((moved[1:] == 0.0).all()) and float(np.ptp(value)) == 0.0:
        yield Weighed(weight, Remark.warning("dead_dial", **facts))
    else:
        yield Weighed(weight, Remark.warning("not_turned", swing_mm=float(np.ptp(value)), **facts))
