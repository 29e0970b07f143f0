"""One port listened to while a person moves the plunger: what its lines hold, whether it is that dial, and
what remains to be asked. Sans-IO."""

import math
from collections import deque
from dataclasses import replace
from typing import Final

from ..profile import Profile
from .finder import STEPS, TIMES
from .framing import Cutter, Framing
from .grammar import number
from .lines import Phase
from .listen import Trial, Understood, raw_of, readable, reading_of, recognise_lines, tried, unit_of
from .questions import CODED, Point, Question, Told, factor_of, step_of, typed

STILL_S: Final = 1.5
"""How long it is heard at rest, before anybody is asked to move it."""
TRIAL_S: Final = 5.0
"""How long a profile is tried on fresh lines before it is kept."""
TRIAL_SHARE: Final = 0.97
"""Share of those lines that it must read."""
_MOST_A_SECOND: Final = 40
_KEPT: Final = 160
"""Lines of the last few seconds: enough to see a hand's push, and little enough to be looked at often."""
_ENOUGH: Final = 4
_LEGIBLE: Final = 12
_RECENT: Final = 24


class Hearing:
    """What one port says at one line setting.

    understood: what its lines hold, None while too few came or nothing makes sense of them.
    came: whole lines so far. told: what a person said of them. legible: whether what came is text, so that
    the speed is right whether or not anything makes sense of it.
    """

    def __init__(self, line: Profile, told: Told | None = None, *, waits: bool = False) -> None:
        """line: the settings of the port. waits: nobody pushes the plunger until `push` is called; else as
        soon as it was heard at rest."""
        self._waits = waits
        self.line, self.told = line, told or Told()
        self.understood: Understood | None = None
        self.came, self.newest, self.legible = 0, "", False
        self._cutter = Cutter(Framing(line.terminator, line.length))
        self._phase: Phase = "heard"
        self._lines: dict[Phase, deque[str]] = {"heard": deque(maxlen=_KEPT)}
        self._second, self._in_it = 0, 0
        self._first: float | None = None
        self._recent: deque[str] = deque(maxlen=_RECENT)
        self._looked_at = -1
        self._points: list[Point] = []
        self._fresh: list[str] | None = None

    def feed(self, data: bytes, t: float) -> None:
        """Bytes that came at t, s; none where nothing came for as long as may end a line."""
        for line in self._cutter.feed(data):
            self._take(line.decode("latin-1"), t)

    def _take(self, text: str, t: float) -> None:
        self.came += 1
        self.newest = text.strip()[:80]
        self._recent.append(text.strip())
        if self.came == 1:
            return  # it may have lost its head
        if self._first is None:
            self._first = t
        rested = self.understood is not None and t - self._first >= STILL_S
        if self._phase == "heard" and rested and not self._waits:
            self._begin("plunger")
        # An instrument that speaks a thousand times a second moves no faster than a hand.
        self._in_it = self._in_it + 1 if int(t) == self._second else 1
        self._second = int(t)
        if self._in_it <= _MOST_A_SECOND:
            self._lines[self._phase].append(text)
            if self._fresh is not None:
                self._fresh.append(text)

    def push(self) -> None:
        """From now on the plunger is pushed."""
        if self._phase == "heard":
            self._begin("plunger")

    def turn_crank(self) -> None:
        """From now on the dial is left alone and the crank is turned."""
        self._begin("crank")

    def _begin(self, phase: Phase) -> None:
        self._phase = phase
        self._lines.setdefault(phase, deque(maxlen=_KEPT))

    def look(self) -> None:
        """See anew what the lines hold. Raises ValueError, in words, for roles that cannot be."""
        if self._fresh is not None:
            return  # what is tried is not changed meanwhile
        if (anew := self._cutter.look()) is not None:
            self.came = 0
            self._lines["heard"].clear()
            for text in anew:
                self._take(text.decode("latin-1"), self._first or 0.0)
        if self.came == self._looked_at or len(self._lines["heard"]) < _ENOUGH:
            return
        self._looked_at = self.came
        found = recognise_lines(self._lines, self.line, self._cutter.framing, self.told)
        self.understood = found or self.understood
        came = [text for lines in self._lines.values() for text in lines]
        self.legible = len(came) >= _LEGIBLE and all(map(readable, came))
        self._cutter.settled = found is not None and not found.says

    @property
    def question(self) -> Question | None:
        """What is to be asked next; None where nothing is open, or nothing understood."""
        return self.understood.question if self.understood is not None else None

    def tell(self, **said: object) -> None:
        """A person said something: keys of `Told`. Where nothing makes sense of it, nothing is understood."""
        self.told = replace(self.told, **said)  # type: ignore[arg-type]
        self.understood, self._looked_at = None, -1
        self.look()

    def shows(self, text: str) -> bool:
        """The display shows this number, and the line says what it said last. Returns whether it is known now
        by which factor they differ, or that nobody can tell; if not, it is to be told again with the plunger
        elsewhere. A unit may stand behind it. Raises ValueError for what is no number, OtherUnit for a unit
        that cannot be the dial's."""
        digits, shown, times = typed(text, self._unit)
        if (said := raw_of(self._profile, self._line)) is None:
            return False
        if shown < 0.0 and self.reading[:1].isdigit():
            self.tell(minus=True)
        if self.question is not None and self.question.about in CODED:
            return True
        self._points.append(Point(said, step_of(self.reading), shown, step_of(digits) * times))
        factor = factor_of(self._points)
        if factor:
            self.tell(factor=factor)
        elif len(self._points) > 1:
            del self._points[0]
        return bool(factor)

    @property
    def _profile(self) -> Profile:
        """What is known of it so far."""
        return self.understood.profile if self.understood is not None else self.line

    @property
    def _unit(self) -> str:
        return self._profile.unit or unit_of(self._profile, self._line)

    def begin_trial(self) -> None:
        """What comes from now on is what the profile is tried on."""
        self._fresh = []

    def learn(self) -> None:
        """The trial is over; what came in it was the plunger's doing."""
        fresh, self._fresh = self._fresh or [], None
        self._begin("plunger")
        self._lines["plunger"].extend(line for line in fresh if line not in self._lines["plunger"])
        self.tell()

    @property
    def trial(self) -> Trial:
        """How the profile has done on fresh lines."""
        return tried(self._profile, self._fresh or [])

    @property
    def passed(self) -> bool:
        """Whether it reads them, and the reading moved."""
        trial = self.trial
        moved = trial.swing >= STEPS * step_of(self.reading)
        return not self._coded() and trial.lines >= _ENOUGH and trial.share >= TRIAL_SHARE and moved

    def _coded(self) -> bool:
        """Whether the trial showed that what is below nought is coded; then that is what is open."""
        found = recognise_lines(self._lines, self.line, self._cutter.framing, self.told)
        coded = found is not None and found.question is not None and found.question.about in CODED
        self.understood = found if coded else self.understood
        return coded

    @property
    def at_rest(self) -> bool:
        """Whether it was heard at rest for long enough."""
        return self._phase != "heard"

    @property
    def _line(self) -> str:
        """The newest line that holds a reading; others may be another channel's, or an error."""
        recent = reversed(self._recent) if self.understood is not None else ()
        return next((line for line in recent if reading_of(self._profile, line)), "")

    @property
    def reading(self) -> str:
        """The number that is taken for the reading, as it was sent last; "" where there is none."""
        return reading_of(self._profile, self._line)

    @property
    def display(self) -> str:
        """What its display shows if all is understood: the reading by its factor, and the unit that the line,
        or somebody, said; "" where there is none."""
        if not (text := self.reading):
            return ""
        scale = self._profile.scale
        value = (number(text, self._profile.signs) or 0.0) * scale
        decimals = max(0, math.ceil(-math.log10(step_of(text) * abs(scale)) - 1e-9))
        return f"{value:.{decimals}f} {self._unit}".strip()

    @property
    def moved(self) -> float:
        """How many times as far as at rest its reading goes since; above 1, it moves."""
        if self.understood is None or "plunger" not in self._lines or not self.understood.moved:
            return 0.0
        still, now = (self._numbers(phase) for phase in ("heard", "plunger"))
        if not still or not now:
            return 0.0
        least = max(TIMES * (max(still) - min(still)), STEPS * step_of(self.reading))
        return float(max(now) - min(now)) / least

    def _numbers(self, phase: Phase) -> list[float]:
        found = (raw_of(self._profile, line.strip()) for line in self._lines[phase])
        return [each for each in found if each is not None]
