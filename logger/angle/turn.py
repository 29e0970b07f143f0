"""What an encoder's values say of themselves while the crank is turned once, clockwise. Sans-IO."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final, Literal

from ..errors import LoggerError
from ..line.decoder import Decoder
from ..profile import Profile, built_in
from ..readings import Fault, Readings
from ..recording.records import ENCODER

USUAL_COUNTS: Final = (
    100, 128, 200, 250, 256, 300, 360, 400, 500, 512, 600, 720, 800, 1000, 1024, 1200, 1250, 1440, 1600, 1800,
    2000, 2048, 2400, 2500, 3600, 4000, 4096, 5000, 7200, 8000, 8192, 10000, 14400, 16384, 20000, 32768,
    36000, 65536,
)  # fmt: skip
"""Counts for one turn of usual encoders, counted once, twice or four times (common practice, no source)."""

HEXADECIMAL: Final = r"\s*(?:[A-Za-z]{1,8}\s*[:=])?\s*(?P<value>(?:0[xX])?[0-9A-Fa-f]{1,16})\s*"
BITS: Final = range(16, 64)
"""Counters that start anew at a power of two; those of 64 bit are read with a sign."""

_FEWEST: Final = 12
_NEAR: Final = 0.01
"""Part of a turn by which a person's turn may miss a usual number that is offered ..."""
_FAR: Final = 0.05
"""... and the number that is then said."""
_BACK: Final = 0.05
_SHARE: Final = 0.95
_TAIL: Final = 2048
"""Bytes by which it is seen whether an encoder speaks."""
_MOST: Final = 1 << 22
"""Bytes that one turn may bring."""


class TurnError(LoggerError):
    """The values are not those of one turn clockwise, or what was said of it cannot be."""


@dataclass(frozen=True, slots=True)
class Turn:
    """One turn. counts: that it took, about, positive. direction: 1 or -1. jump: where the counter started
    anew, the size of that jump, counts, 0 if it did not; step: the largest other step."""

    counts: float
    direction: Literal[1, -1]
    jump: float
    step: float

    @property
    def usual(self) -> int:
        """The one usual number of counts that this may be; 0 for none, or more than one."""
        near = [each for each in USUAL_COUNTS if abs(self.counts - each) <= _NEAR * each]
        return near[0] if len(near) == 1 else 0

    def told(self, counts: float) -> None:
        """Somebody says so many for one turn. Raises TurnError where that is not what came."""
        if not abs(self.counts - counts) <= _FAR * counts:
            raise TurnError(f"about {self.counts:.0f} counts came in the turn, which is not {counts:g}")

    def wrap(self, counts: float) -> float | None:
        """Where its counter starts anew, counts; None where no jump shows it. Raises TurnError for a
        jump that is none of a counter."""
        if not self.jump:
            return None
        room = 2.0 * self.step + 1.0
        fitting = [each for each in (counts, *(2.0**n for n in BITS)) if 0.0 <= each - self.jump <= room]
        if len(set(fitting)) != 1:
            raise TurnError(f"it jumped by {self.jump:.0f} counts, where no usual counter starts anew")
        return fitting[0]

    def kept(self, line: Profile, counts: float, wrap: float) -> Profile:
        """What is known now of an encoder that writes so; counts, wrap: as somebody said, or the turn."""
        return replace(line, counts_per_turn=counts, wrap=wrap, direction=self.direction)


def typed_count(text: str) -> float | None:
    """A number of counts that somebody typed; None for what is none."""
    text = text.strip()
    return float(text) if text.isascii() and text.isdigit() and 0 < int(text) <= 2**64 else None


class TurnHearing:
    """The port of an encoder at one line setting, while the crank is turned once."""

    def __init__(self, line: Profile) -> None:
        """line: the settings of the port. Nothing is heard yet."""
        self.line = line
        self.speaks = False
        self._data = bytearray()
        self._turning = False

    def feed(self, data: bytes) -> None:
        """Bytes that came."""
        self._data += data
        if not self._turning:
            del self._data[:-_TAIL]
        del self._data[_MOST + 1 :]

    def look(self) -> float | None:
        """See whether an encoder speaks; its newest value, as it sent it."""
        found = encoder_lines(bytes(self._data[-_TAIL:]), self.line)
        self.speaks |= found is not None
        return found[1][-1] if found is not None else None

    def begin(self) -> None:
        """The turn begins: only what comes from now on counts."""
        self._turning = True
        del self._data[: 1 + max(self._data.rfind(b"\r"), self._data.rfind(b"\n"))]

    def turned(self) -> tuple[Profile, Turn]:
        """How the encoder writes, and its turn, which is over. Raises TurnError."""
        self._turning = False
        if len(self._data) > _MOST:
            raise TurnError("it took too long")
        found = encoder_lines(bytes(self._data), self.line)
        if found is None:
            raise TurnError("its lines changed: they are no encoder's now")
        return found[0], turned(found[1])


def turned(values: Sequence[float]) -> Turn:
    """One turn from the values that came, in order. Raises TurnError."""
    steps = [b - a for a, b in pairwise(values) if b != a]
    if len(steps) < _FEWEST:
        raise TurnError("it hardly moved: only a crank that turns for several seconds tells")
    # A counter that starts anew jumps by more than all that it moved else.
    half = 0.5 * (max(values) - min(values))
    jumps = [step for step in steps if abs(step) > half]
    small = [step for step in steps if abs(step) <= half]
    moved, back = sum(small), sum(map(abs, small)) - abs(sum(small))
    if len(jumps) > 1 or back > _BACK * abs(moved) or any(jump * moved >= 0.0 for jump in jumps):
        raise TurnError("it went to and fro, jumped or paused in its talk: not one even turn")
    way: Literal[1, -1] = 1 if moved > 0.0 else -1
    mean = abs(moved) / len(small)
    return Turn(abs(moved) + mean * len(jumps), way, max(map(abs, jumps), default=0.0), max(map(abs, small)))


def encoder_lines(data: bytes, line: Profile) -> tuple[Profile, list[float]] | None:
    """How an encoder writes that sent `data` at these line settings, and its values; None for none.

    Decimal unless more lines are hexadecimal; such a counter shows letters before a turn is over."""
    found: list[tuple[int, Profile, list[float]]] = []
    usual = replace(line, name="encoder", base=10)
    kinds = [replace(usual, pattern=built_in(name).pattern) for name in ("encoder-counts", "encoder-degrees")]
    for profile in (*kinds, replace(usual, pattern=HEXADECIMAL, base=16)):
        decoder = Decoder(profile, ENCODER)
        decoder.feed(data, 0.0)
        events = list(decoder.events())
        values = [v for each in events if isinstance(each, Readings) for v in each.value.tolist()]
        bad = sum(isinstance(each, Fault) for each in events)
        # The first may have lost its head, the last its tail.
        if len(values) >= 3 and bad <= max(1.0, (1.0 - _SHARE) * len(values)) and math.isfinite(sum(values)):
            found.append((bad, profile, values))
    return min(found, key=lambda each: each[0])[1:] if found else None
