"""Which stations are to be read, in which order, and what is still due."""

from dataclasses import dataclass
from typing import Final, Literal

from coaxly.fitter import Setup
from coaxly.fitter.clues.angles import Turn
from coaxly.fitter.geometry import EnteredDeg, difference

ONE_MORE: Final = "one more turn"
ONE_MORE_BACK: Final = "one more turn, the other way"
"""Notes that a recording keeps of an added turn, so that a sweep that goes on later has it too."""

_SAME_DEG: Final = 1.0


@dataclass(frozen=True, slots=True)
class Plan:
    """Which stations to read.

    closing: read the first once more at the end.
    auto: stations capture themselves when the dial is steady.
    against: the crank is turned the other way than its scale counts.
    places: where to stop, in order, where that is no even round.
    """

    stations: int = 8
    closing: bool = True
    auto: bool = False
    against: bool = False
    places: tuple[EnteredDeg, ...] = ()

    def angles(self) -> list[EnteredDeg]:
        """Angles in the order in which the crank comes by them."""
        if self.places:
            return list(self.places)
        step = 360.0 / self.stations
        turn = [step * k for k in range(self.stations)]
        if self.against:
            turn[1:] = turn[:0:-1]
        return [EnteredDeg(deg) for deg in turn + ([0.0] if self.closing else [])]


def against(turn: Turn | Literal[""], setup: Setup) -> bool:
    """Whether a crank that is turned so, seen from behind, goes against its scale; not where nobody said."""
    return turn not in ("", setup.scale_turn)


def step_places(setup: Setup) -> tuple[EnteredDeg, ...]:
    """Gauge steps are places by their number; () for a sweep."""
    return tuple(EnteredDeg(float(k)) for k in range(len(setup.steps_mm))) if setup.feature == "steps" else ()


@dataclass(frozen=True, slots=True)
class Due:
    """A station to be read."""

    deg: EnteredDeg
    closing: bool = False
    """The turn ends here, where it began."""
    back: bool = False
    """The crank is turned the other way than in the first turn."""


class Schedule:
    """The stations that are due, in order. Sans-IO.

    Rules: a station that was read goes off the list, wherever on it it stood, and one that was never due
    changes nothing. What is taken back returns to the place where it stood. A turn that is added stays,
    whatever is taken back after it. So at any moment what is due and what was read off the list are
    together what was ever asked for.
    """

    def __init__(self, plan: Plan) -> None:
        """All of the plan is due."""
        self.plan = plan
        self._due = self._turn(back=False)
        self._read: list[tuple[int, Due] | None] = []

    def __len__(self) -> int:
        """How many are due."""
        return len(self._due)

    @property
    def due(self) -> tuple[Due, ...]:
        """All that is due."""
        return tuple(self._due)

    @property
    def next(self) -> Due | None:
        """The one that is due first; None when all are read."""
        return self._due[0] if self._due else None

    def read(self, deg: EnteredDeg) -> None:
        """A station at `deg` was read."""
        for at, due in enumerate(self._due):
            if abs(difference(deg, due.deg)) < _SAME_DEG:
                self._read.append((at, self._due.pop(at)))
                return
        self._read.append(None)

    def undo(self) -> bool:
        """The last station that was read is taken back; False if there is none."""
        if not self._read:
            return False
        if (back := self._read.pop()) is not None:
            self._due.insert(*back)
        return True

    def add_turn(self, *, back: bool = False) -> None:
        """All stations once more, after what is due, in the same sense or the other."""
        self._due += self._turn(back=back)

    def _turn(self, *, back: bool) -> list[Due]:
        angles = self.plan.angles()
        if back:
            angles.reverse()
        last = len(angles) - 1
        return [Due(deg, self.plan.closing and k == last, back) for k, deg in enumerate(angles)]
