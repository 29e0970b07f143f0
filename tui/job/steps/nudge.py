"""Tapping a housing into place, a step at a time: where the crank is parked, how far it is to go. Sans-IO."""

import math
from dataclasses import dataclass
from enum import StrEnum, auto
from typing import Final

from coaxly.fitter.aim import Aim
from coaxly.fitter.geometry import direction, unit, wrap
from coaxly.fitter.units import MM_PER_THOU

TOLERANCE_MM: Final = 0.2 * MM_PER_THOU
"""Within so much of a reading nobody taps on (common practice, no source)."""

NOTICED_MM: Final = 0.5 * MM_PER_THOU
_NOTICED_SDS: Final = 4.0
"""A dial that reads otherwise by more than this was set anew, or the housing is not where it was swept."""

QUARTER: Final = 90.0


class Step(StrEnum):
    """What is being done."""

    PARK = auto()
    """Bolts tight: park with a dial at the high point; its reading ties that dial to the sweep."""
    TAP = auto()
    """Bolts slack: tap, the crank stays."""
    TURN = auto()
    """The crank goes on to the next place."""
    TIGHTEN = auto()
    """It is right all round: bolts to torque."""
    DONE = auto()


class Came(StrEnum):
    """What a reading came to."""

    TIED = auto()
    """The dials are tied to the sweep."""
    SECOND_TIED = auto()
    """The second dial is; the first one comes next."""
    MOVED = auto()
    """It reads otherwise than in the sweep; asked once more, it is taken so."""
    NOT_YET = auto()
    RIGHT = auto()
    """Right here; the next place on is next."""
    BOTH_RIGHT = auto()
    CREPT = auto()
    """The bolts drew it off again."""
    HELD = auto()
    """It held when the bolts were tightened."""


@dataclass(frozen=True, slots=True)
class ToGo:
    """How far, and which way.

    amount: mm, never negative.
    towards_deg: internal degrees; None where there is nothing to go.
    within: whether it is within tolerance.
    """

    amount: float
    towards_deg: float | None
    within: bool


class Nudge:
    """The order of things. Readings in mm, corrected as stations are; one of each dial.

    Rules: each dial is tied to the sweep at the high point, where a crank that is parked a little beside it
    does not show. By one dial the housing is then tapped right there, half a turn on, a quarter turn on, half
    a turn on, and so on; by two, a quarter turn apart, always half a turn on. Each half turn ties the dial
    anew, for what it has drifted by counts here for and there against. It is right once opposite
    places and one between them were, without a tap meanwhile, and then only if it holds while the bolts are
    tightened.
    """

    def __init__(self, aim: Aim, *, dials: int = 1, tolerance: float = TOLERANCE_MM) -> None:
        """dials: one, or two of which the second stands a quarter turn on, clockwise from behind."""
        self.aim, self.dials, self.tolerance = aim, dials, tolerance
        self.step = Step.PARK
        self.came: Came | None = None
        self.shift: float | None = None
        """By how much the first dial read more than in the sweep, mm; None before it was read."""
        self._shifts: dict[int, float] = {}
        self._over: dict[tuple[int, int], float] = {}
        """What was read above what is wanted, mm, by dial and its place, since the last tap."""
        # Of the first dial, in quarter turns from the high point; a second one has to be tied there too.
        self._place = 1 - dials
        self._half = True  # whether the crank goes half a turn on next, or a quarter
        self._seen = False
        self._last: dict[int, float] = {}

    @property
    def deg(self) -> float:
        """Where the first dial is parked, or to be parked now."""
        return wrap(self.aim.high_deg + QUARTER * self._place)

    def live(self, readings: tuple[float, ...]) -> ToGo | None:
        """How far it is by what the dials read now; None while that says nothing."""
        if self.step in (Step.PARK, Step.TURN) or len(readings) < self.dials:
            return None
        ways = self._ways(readings)
        x = y = 0.0
        for way, deg in zip(ways, self._degs(), strict=True):
            along = unit(deg)
            x, y = x + way * along[0], y + way * along[1]
        amount = math.hypot(x, y)
        within = all(abs(way) <= self.tolerance for way in ways)
        return ToGo(amount, direction(x, y) if amount > 0.0 else None, within)

    def taken(self, readings: tuple[float, ...]) -> Came:
        """Steady readings were taken where the crank was to stand."""
        self.came = self._tie(readings) if self.step is Step.PARK else self._judge(readings)
        return self.came

    def remaining(self) -> tuple[float, ...]:
        """What was last to go towards the high point and a quarter turn on, mm."""
        return tuple(self._last[axis] for axis in sorted(self._last))

    def _degs(self) -> list[float]:
        return [self.deg + QUARTER * k for k in range(self.dials)]

    def _ways(self, readings: tuple[float, ...]) -> list[float]:
        each = zip(self._degs(), readings, range(self.dials), strict=False)
        return [self.aim.to_go(deg, reading, self._shifts[dial]) for deg, reading, dial in each]

    def _tie(self, readings: tuple[float, ...]) -> Came:
        dial = -self._place
        shift = self._shifts[dial] = self.aim.shift(self.aim.high_deg, readings[dial])
        if dial == 1:
            # A second dial was not in the sweep: wherever its zero is, it is taken so.
            self._place = 0
            return Came.SECOND_TIED
        self.shift = shift
        if abs(shift) > max(NOTICED_MM, _NOTICED_SDS * self.aim.sd) and not self._seen:
            self._seen = True
            return Came.MOVED
        self.step = Step.TAP
        return Came.TIED

    def _judge(self, readings: tuple[float, ...]) -> Came:
        if self.step is Step.TAP:
            self._over.clear()
        for dial, (deg, reading) in enumerate(zip(self._degs(), readings, strict=True)):
            self._over[dial, (self._place + dial) % 4] = reading - self.aim.wanted(deg)
        self._tie_anew()
        ways = self._ways(readings)
        for dial, way in enumerate(ways):
            place = (self._place + dial) % 4
            self._last[place % 2] = way if place < 2 else -way
        if max(map(abs, ways)) > self.tolerance:
            crept = self.step is Step.TIGHTEN
            self.step = Step.TAP
            return Came.CREPT if crept else Came.NOT_YET
        if self.step is Step.TIGHTEN:
            self.step = Step.DONE
            return Came.HELD
        if self._all_right():
            self.step = Step.TIGHTEN
            return Came.BOTH_RIGHT
        half = self._half or self.dials > 1
        self._place, self.step, self._half = (self._place + (2 if half else 1)) % 4, Step.TURN, not self._half
        return Came.RIGHT

    def _tie_anew(self) -> None:
        """By opposite places: half of what they differ by is the housing's, the mean of them the dial's."""
        for (dial, place), over in self._over.items():
            opposite = self._over.get((dial, (place + 2) % 4))
            if opposite is not None:
                self._shifts[dial] = (over + opposite) / 2.0

    def _all_right(self) -> bool:
        tied = {dial for dial, place in self._over if (dial, (place + 2) % 4) in self._over}
        axes = {place % 2 for _, place in self._over}
        small = all(
            abs(over - self._shifts[dial]) <= self.tolerance for (dial, _), over in self._over.items()
        )
        return len(tied) == self.dials and len(axes) == 2 and small
