"""What the clues of stopped sweeps look at: the readings, the worlds they may come from, and how a dial that
rests would read."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from ..numeric.basis import Floats
from ..numeric.logs import log_sum
from ..reading.displaystep import count_of
from ..reading.setup import Setup
from ..reading.stations import Ints, Stations
from ..result import Remark
from ..units import MM_PER_THOU
from .before import Before
from .bores import Earlier, Worlds

MOST: Final = 40
"""Stations that are weighed; of more the first: a turn of eight costs a hundredth of a second, so many a
fifth."""

_REMEMBERED: Final = 17
"""Stations of an earlier sweep that are: a turn of sixteen with its closing reading."""

_RESTS: Final = ((0.0, 0.0, 0.3), (0.5, 0.0, 0.15), (1.0, 0.0, 0.15), (2.0, 0.0, 0.03), (0.0, 0.05, 0.18),
                 (0.0, 0.1, 0.15), (0.0, 0.25, 0.04))  # fmt: skip
"""By how much one reading of a dial that rests is off, in steps of its display and in thou, standard
deviations, and how often that is met (common practice, no source)."""

_READS: Final = ((0.0, 0.85), (0.5, 0.15))
"""The same of a dial that rests at a stop or on hold while a bore goes by, a reading a station: steps of
its display. It reads the same, or its last digit is between two (common practice, no source). With the
scatter of a live dial a sound bore that lingers at its lowest or highest passed for one."""

_TIMES: Final = ((1.0, 0.8), (2.0, 0.2))
"""The same of the mean of a dwell, times what the dwells show, and how often."""

_ROOM, _ROOM_MM = 5.0, 1.0 * MM_PER_THOU
"""Steps of the display, times what dwells show, and mm beside, beyond which no readings at rest range: one
that is far off for another reason makes any other story likelier than a bore."""

_HARDLY, _HARDLY_MM = 2.0, 0.75 * MM_PER_THOU
"""Steps of the display, and mm, within which nothing seems to have moved."""

_FROZEN: Final = 0.5
"""Of dials that rest while the crank turns: those whose digits stand too (common practice, no source)."""

_FINE_MM: Final = 0.05 * MM_PER_THOU
"""Step of a dial that does not tell its step."""

_AS_GOOD: Final = 3.0
"""Logarithm of odds within which a wild reading at an end and a knock beside it are not told apart."""

_RANGE: Final = 6.0
"""Standard deviations that a hundred or two readings of a dial at rest may range over."""


@dataclass(frozen=True)
class Looked:
    """Stations that were stopped at, n of them.

    stations: as they were read.
    count: step of the display, mm; a fine one where it is not known.
    single: standard deviation of one reading while nothing moves, mm, by those of each station; 0 where there
        is but one, and where they never differ.
    rest: the same of a station's mean.
    limit: of the run-out, mm.
    before: an earlier sweep of the same surface, None for none.
    """

    stations: Stations
    count: float
    single: float
    rest: float
    limit: float
    before: Before | None = None

    @classmethod
    def at(cls, setup: Setup, raw: Stations, before: Before | None = None) -> "Looked":
        """As read."""
        stations = raw.take(slice(0, MOST))
        flickers = stations.scatter > 0.0
        single = rest = 0.0
        if flickers.any():
            variance = stations.scatter[flickers] ** 2
            single = float(np.sqrt(np.mean(variance)))
            rest = float(np.sqrt(np.mean(variance / stations.count[flickers])))
        return cls(stations, count_of(setup, raw) or _FINE_MM, single, rest, setup.limit_mm, before)

    def __len__(self) -> int:
        """The number of stations."""
        return len(self.stations)

    @cached_property
    def value(self) -> Floats:
        """Readings about one of their own, mm."""
        value: Floats = self.stations.value - np.median(self.stations.value)
        return value

    @property
    def hardly(self) -> bool:
        """Whether nothing seems to have moved."""
        return float(np.ptp(self.value)) <= max(_HARDLY_MM, _HARDLY * self.count)

    @cached_property
    def worlds(self) -> Worlds:
        """Bores that may have been read."""
        deg, t = self.stations.deg, self.stations.t
        if (before := self.before) is None:
            return Worlds.at(deg, t)
        first = slice(0, _REMEMBERED)
        value = before.value[first] - np.median(before.value[first])
        return Worlds.again(deg, t, Earlier(before.deg[first], value, self.count))

    @cached_property
    def blur(self) -> Floats:
        """Variance of each reading for the display's step, mm^2."""
        return np.full(len(self), self.count**2 / 12.0)

    @cached_property
    def so_far(self) -> Floats:
        """How well each bore explains the first readings (`Worlds.so_far`)."""
        return self.worlds.so_far(self.value, self.blur)

    @cached_property
    def plain(self) -> float:
        """How well a bore explains the readings, as they are (logarithm of the density)."""
        return log_sum(self.so_far[:, -1])

    @cached_property
    def _faults(self) -> tuple[float, float]:
        return self.worlds.with_a_fault(self.value, self.blur, self.so_far[:, -1])

    @cached_property
    def with_a_fault(self) -> float:
        """The same of a bore whose zero may have moved on the way, or of which one reading may be wild."""
        return log_sum(np.array([self.plain, *self._faults]))

    @cached_property
    def with_a_knock(self) -> float:
        """The same of one whose zero moved: beside a jump a good bore reads as equal as a dial on hold. As it
        is, where all is well or one reading is wild."""
        knocked, wild = self._faults
        known = knocked > max(self.plain, wild - _AS_GOOD)
        return float(np.logaddexp(knocked, self.plain)) if known else self.plain

    @cached_property
    def _rests(self) -> list[tuple[float, float]]:
        """How a dial that rests scatters from station to station, beside the display's step: standard
        deviation, mm, and how often that is met."""
        if bool((self.stations.count > 1).any()):
            return [(times * self.rest, often) for times, often in _TIMES]
        return [(max(steps * self.count, thou * MM_PER_THOU), often) for steps, thou, often in _RESTS]

    @cached_property
    def turned(self) -> float:
        """The same where it is asked whether the crank was turned at all. That a bore was never out of round
        says nothing for it; what was so before speaks for it as far as it is seen again in its places."""
        if self.before is None:
            return self.plain
        deg, t = self.stations.deg, self.stations.t
        unknown = Worlds.at(deg, t).explains(self.value, self.blur)
        anywhere = self.worlds.of_any_form(deg, t).explains(self.value, self.blur)
        return min(self.plain, unknown + self.plain - anywhere)

    def beyond(self, value: Floats, known: Ints, level: Floats) -> tuple[float, float]:
        """How well bores explain the readings `known` that at the others are no more than `level`, and the
        chance that such a bore is over the limit (`Worlds.beyond`)."""
        return self.worlds.beyond(value, self.blur, known, level, self.limit / 2.0)

    def one_place(self) -> float:
        """How well one place explains the readings, read again and again: the dial at rest, and drift; or its
        digits stand from the first station on."""
        noises = [(sd / MM_PER_THOU, often) for sd, often in self._rests]
        rests = Worlds.resting(self.stations.t, noises).explains(self.value, self.blur)
        if not self.single:
            return rests
        frozen = self._stand(np.arange(1, len(self))) + float(np.log(_FROZEN))
        stands = Worlds.resting(self.stations.t, [(0.0, 1.0)]).explains(self.value, self.blur)
        return float(np.logaddexp(rests, frozen + stands))

    def level(self, at: Ints) -> float:
        """How well a dial that rests explains the readings at some stations (indices): equal, the level
        anywhere. Logarithm of the density, per mm of level."""
        return self._level(self.value[at] - self.value[at].mean(), at)

    def at_most(self, at: Ints) -> float:
        """The same, were they equal."""
        return self._level(np.zeros(len(at)), at)

    def _level(self, off: Floats, at: Ints) -> float:
        """The same of readings that are `off` their mean."""
        n = len(off)
        anywhere = [(sd, often, np.log(2.0 * np.pi * sd * sd / n) / 2.0) for sd, often in self._scatters(at)]
        return log_sum(np.array([_normal(off, sd) + room + often for sd, often, room in anywhere]))

    def copies(self, off: Floats, at: Ints) -> float:
        """The same of readings that are `off` a level that is known."""
        return log_sum(np.array([_normal(off, sd) + often for sd, often in self._scatters(at)]))

    def _scatters(self, at: Ints) -> Iterator[tuple[float, float]]:
        """How a dial that rests may scatter at these stations, step and all: standard deviation, mm; and the
        logarithm of how often that is met, times how much likelier it makes their digits."""
        step = self.count**2 / 12.0
        dwells = bool((self.stations.count > 1).any())
        reads = self._rests if dwells else [(steps * self.count, often) for steps, often in _READS]
        for sd, often in reads:
            yield float(np.sqrt(step + sd * sd)), float(np.log(often))
        if self.single:
            yield float(np.sqrt(step)), float(np.log(_FROZEN)) + self._stand(at)

    def _stand(self, at: Ints) -> float:
        """How much likelier standing digits make what the dwells of these stations show: logarithm."""
        mine = np.isin(np.arange(len(self)), at)
        digits = self.stations.count > 1
        stood = digits & (self.stations.scatter == 0.0)
        if not bool(stood[mine].all()):
            return -np.inf
        others = digits & ~mine
        chance = (float(np.sum(stood & others)) + 0.5) / (float(np.sum(others)) + 1.0)
        return -float(np.sum(mine)) * float(np.log(chance))

    def flat(self, at: Ints) -> bool:
        """Whether readings at some stations (indices) are near enough to be those of a dial that rests."""
        room = _ROOM * self.count + max(_ROOM * self.rest, _ROOM_MM)
        return float(np.ptp(self.value[at])) <= room

    def rests(self, into: Ints) -> bool:
        """Whether the dial stood still on its way to each of these stations (indices), as far as anybody
        saw."""
        return not bool((self.stations.moved[into] > self.count * 1.5 + _RANGE * self.single).any())


def _normal(off: Floats, sd: float) -> float:
    """Logarithm of the density of independent normal variates."""
    return float(-(off @ off) / (sd * sd) / 2.0 - len(off) * np.log(2.0 * np.pi * sd * sd) / 2.0)


@dataclass(frozen=True, slots=True)
class Weighed:
    """What may have happened.

    odds: logarithm of its odds against a bore as it is.
    remark: what would be told.
    over: chance that the bore is over the limit, if it did happen.
    counted: whether the model's bar and chances hold it already.
    """

    odds: float
    remark: Remark
    over: float = 1.0
    counted: bool = False
