"""What the clues of stopped sweeps look at: the readings, the worlds they may come from, the dial's own
step."""

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from ..numeric.basis import Floats
from ..reading.setup import Setup
from ..reading.stations import Ints, Stations
from ..result import Remark
from .bores import Worlds
from .counts import count_of

MOST: Final = 40
"""Stations that are weighed; of more the first, so that a doubt costs some milliseconds and no more."""


@dataclass(frozen=True, slots=True)
class Flicker:
    """How a dial that rests may flicker: standard deviation and most, in steps of its display; how often."""

    sd: float
    most: float
    often: float


FLICKERS: Final = (Flicker(0.0, 0.01, 0.5), Flicker(0.4, 1.01, 0.3), Flicker(0.8, 2.01, 0.2))

_FINE_MM: Final = 0.05 * 0.0254
"""Step of a dial that does not tell its step."""


@dataclass(frozen=True)
class Looked:
    """Stations that were stopped at, n of them.

    stations: as they were read.
    count: step of the display, mm; a fine one where it is not known.
    rest: standard deviation of one station's mean while nothing moves, mm, by its own readings.
    """

    stations: Stations
    count: float
    rest: float

    @classmethod
    def at(cls, setup: Setup, raw: Stations) -> "Looked":
        """As read."""
        stations = raw.take(slice(0, MOST))
        several = stations.count[stations.scatter > 0.0]
        rest = 0.0
        if len(several):
            rest = float(np.sqrt(np.mean(stations.scatter[stations.scatter > 0.0] ** 2 / several)))
        return cls(stations, count_of(setup, raw) or _FINE_MM, rest)

    def __len__(self) -> int:
        """The number of stations."""
        return len(self.stations)

    @cached_property
    def worlds(self) -> Worlds:
        """Bores that may have been read."""
        return Worlds.at(self.stations.deg, self.stations.t)

    @cached_property
    def blur(self) -> Floats:
        """Variance of each reading for the display's step, mm^2."""
        return np.full(len(self), self.count**2 / 12.0)

    @cached_property
    def plain(self) -> float:
        """How well a bore explains the readings, as they are (logarithm of the density)."""
        return self.worlds.explains(self.stations.value, self.blur)

    def room(self, flicker: Flicker) -> float:
        """Within which readings of a dial that rests lie, mm."""
        return flicker.most * self.count + 3.0 * self.rest

    def level(self, flat: Floats, flicker: Flicker) -> float:
        """How well a dial that rests explains these readings: equal, but for flicker and what the dwells
        show; the level anywhere in 30 thou. Logarithm of the density."""
        off = flat - flat.mean()
        return self.copies(off, flicker) + float(np.log(2.0 * np.pi * self._spread(flicker) / len(flat)) / 2.0
                                                 - np.log(_LEVELS_MM))  # fmt: skip

    def copies(self, off: Floats, flicker: Flicker) -> float:
        """The same of readings that are `off` a level that is known."""
        variance = self._spread(flicker)
        return float(-(off @ off) / variance / 2.0 - len(off) * np.log(2.0 * np.pi * variance) / 2.0)

    def _spread(self, flicker: Flicker) -> float:
        return self.count**2 * (1.0 / 12.0 + flicker.sd**2) + self.rest**2

    def rests(self, into: Ints, flicker: Flicker) -> bool:
        """Whether the dial stood still on its way to each of these stations (indices), as far as anybody
        saw."""
        most = (flicker.most + 0.5) * self.count + 4.0 * self.rest
        return not bool((self.stations.moved[into] > most).any())


_LEVELS_MM: Final = 30.0 * 0.0254


@dataclass(frozen=True, slots=True)
class Weighed:
    """What may have happened: logarithm of its odds against a bore as it is, and what would be told."""

    odds: float
    remark: Remark
