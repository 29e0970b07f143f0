"""Readings that are equal: is it the bore, or a plunger at its stop, a tip off the surface, a dial on hold?

Of a tip that is off, or a plunger at its stop, the flat readings are bounds: the bore would read lower
still (or higher). Of a dial that keeps its largest reading those that do not rise are bounds too. Of a dial
on hold those after the first are copies of it. Each is weighed against bores of every usual kind (`bores`),
which must read the same at those places by chance.
"""

from collections.abc import Iterator
from typing import Final

import numpy as np

from ..numeric.basis import Floats
from ..reading.stations import Ints
from ..result import Remark
from .bores import odds
from .sweeping import FLICKERS, Looked, Weighed

_OFF, _HELD, _KEPT, _STILL = 0.15, 0.02, 0.01, 0.01
"""Sweeps whose tip runs off or whose plunger comes to its stop; whose dial is put on hold on the way; keeps
its largest or smallest reading; in which nothing is turned (common practice, no source)."""

_FEWEST: Final = 2


def stops(looked: Looked) -> Iterator[Weighed]:
    """That the tip was off, or the plunger at its stop, at some neighbouring places."""
    stations = looked.stations
    for sign in (1.0, -1.0):
        value = sign * stations.value
        for flicker in FLICKERS:
            at = np.flatnonzero(value <= float(value.min()) + looked.room(flicker))
            others = np.setdiff1d(np.arange(len(value)), at)
            if len(others) < _FEWEST or not _neighbours(stations.deg, at):
                continue
            if not looked.rests(at[np.isin(at - 1, at)], flicker):
                continue
            level = float(value[at].mean()) + looked.count / 2.0
            beyond = looked.worlds.explains_beyond(value, looked.blur, others, np.full(len(at), level))
            yield Weighed(
                odds(beyond + looked.level(value[at], flicker), looked.plain, _OFF * flicker.often / 2.0),
                Remark.warning(
                    "tip_off",
                    places=_places(stations.deg, at),
                    reads_mm=float(stations.value[at].mean()),
                    lowest=sign > 0.0,
                ),
            )


def _neighbours(deg: Floats, at: Ints) -> bool:
    """Whether two places beside each other are among them."""
    places = np.unique(np.round(deg) % 360.0)
    flags = np.isin(places, np.round(deg[at]) % 360.0)
    return bool((flags & np.roll(flags, 1)).any())


def _places(deg: Floats, at: Ints) -> int:
    return len(np.unique(np.round(deg[at]) % 360.0))


def holds(looked: Looked) -> Iterator[Weighed]:
    """That the dial was on hold from some station on."""
    value, n = looked.stations.value, len(looked)
    for flicker in FLICKERS:
        # Equal from the first on is a dial that never moved (`still`), unless it moved on the way.
        same = [k for k in range(1, n) if float(np.ptp(value[k:])) <= looked.room(flicker)]
        first = same[0]
        if n - first < _FEWEST + 1 or not looked.rests(np.arange(first + 1, n), flicker):
            continue
        known = np.arange(first + 1)
        true = looked.worlds.some(known).explains(value[known], looked.blur[known])
        copied = looked.copies(value[first + 1 :] - value[first:].mean(), flicker)
        yield Weighed(
            odds(true + copied, looked.plain, _HELD * flicker.often / (n - 1)),
            Remark.warning(
                "held_dial",
                after_deg=float(looked.stations.deg[first]),
                stations=n - first,
                reads_mm=float(value[first:].mean()),
            ),
        )


def keeps(looked: Looked) -> Iterator[Weighed]:
    """That the dial showed the largest reading so far (or the smallest) in place of the newest."""
    n = len(looked)
    for sign in (1.0, -1.0):
        value = sign * looked.stations.value
        for flicker in FLICKERS:
            room = looked.room(flicker)
            before = np.concatenate([[-np.inf], np.maximum.accumulate(value)[:-1]])
            risen = value > before + room
            if bool((value < before - room).any()) or n - int(risen.sum()) < _FEWEST + 1:
                continue
            known, rest = np.flatnonzero(risen), np.flatnonzero(~risen)
            if not looked.rests(rest, flicker):
                continue
            level = np.array([value[known[known < k][-1] : k + 1].mean() for k in rest.tolist()])
            beyond = looked.worlds.explains_beyond(value, looked.blur, known, level + looked.count / 2.0)
            yield Weighed(
                odds(
                    beyond + looked.copies(value[rest] - level, flicker),
                    looked.plain,
                    _KEPT * flicker.often / 2.0,
                ),
                Remark.warning(
                    "held_dial",
                    after_deg=float(looked.stations.deg[known[-1]]),
                    stations=n - int(known[-1]),
                    reads_mm=float(looked.stations.value[-1]),
                ),
            )


def still(looked: Looked) -> Iterator[Weighed]:
    """That all readings are equal but for flicker: the dial is dead or on hold, or the crank was not
    turned."""
    value, moved = looked.stations.value, looked.stations.moved
    swing = float(np.ptp(value))
    for flicker in FLICKERS:
        if swing > looked.room(flicker) or not looked.rests(np.arange(1, len(looked)), flicker):
            continue
        weight = odds(looked.level(value, flicker), looked.plain, _STILL * flicker.often)
        facts = {"stations": len(looked), "reads_mm": float(value.mean())}
        if swing == 0.0 and not bool((moved > 0.0).any()):
            yield Weighed(weight, Remark.warning("dead_dial", **facts))
        else:
            yield Weighed(weight, Remark.warning("not_turned", swing_mm=swing, **facts))
