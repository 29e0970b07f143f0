"""One port listened to while a person moves the plunger: what its lines hold, and whether it is that dial.
Sans-IO.
"""

from collections import deque
from typing import Final

from ..profile import Profile
from .finder import Phase
from .grammar import number
from .listen import Understood, reading_of, recognise

STILL_S: Final = 1.5
"""How long it is heard at rest, before anybody is asked to move it."""
_MOST_A_SECOND: Final = 40
_KEPT: Final = 160
"""Lines of the last few seconds: enough to see a hand's push, and little enough to be looked at often."""
_ENOUGH: Final = 4
_TIMES: Final = 5.0
"""Times its range at rest (or ten times its smallest step) by which a reading must move to be moved."""
_STEPS: Final = 10.0


class Hearing:
    """What one port says at one line setting.

    understood: what its lines hold, None while too few came or nothing makes sense of them.
    came: whole lines so far.
    """

    def __init__(self, line: Profile) -> None:
        """line: the settings of the port."""
        self.line = line
        self.understood: Understood | None = None
        self.came, self.newest = 0, ""
        self._rest = b""
        self._phase: Phase = "heard"
        self._lines: dict[Phase, deque[bytes]] = {"heard": deque(maxlen=_KEPT)}
        self._second, self._in_it = 0, 0
        self._first: float | None = None
        self._looked_at = -1

    def feed(self, data: bytes, t: float) -> None:
        """Bytes that came at t, s."""
        *whole, self._rest = (self._rest + data).replace(b"\r", b"\n").split(b"\n")
        self._rest = self._rest[-512:]
        for text in whole:
            if text.strip():
                self._take(text, t)

    def _take(self, text: bytes, t: float) -> None:
        self.came += 1
        self.newest = text.decode("latin-1").strip()[:80]
        if self.came == 1:
            return  # it may have lost its head
        if self._first is None:
            self._first = t
        if self._phase == "heard" and self.understood is not None and t - self._first >= STILL_S:
            self._begin("plunger")
        # An instrument that speaks a thousand times a second moves no faster than a hand.
        self._in_it = self._in_it + 1 if int(t) == self._second else 1
        self._second = int(t)
        if self._in_it <= _MOST_A_SECOND:
            self._lines[self._phase].append(text)

    def turn_crank(self) -> None:
        """From now on the dial is left alone and the crank is turned."""
        self._begin("crank")

    def _begin(self, phase: Phase) -> None:
        self._phase = phase
        self._lines.setdefault(phase, deque(maxlen=_KEPT))

    def look(self) -> None:
        """See anew what the lines hold."""
        if self.came == self._looked_at or len(self._lines["heard"]) < _ENOUGH:
            return
        self._looked_at = self.came
        heard, *more = ((phase, _joined(lines)) for phase, lines in self._lines.items())
        self.understood = recognise(heard[1], self.line, more=dict(more)) or self.understood

    @property
    def at_rest(self) -> bool:
        """Whether it was heard at rest for long enough."""
        return self._phase != "heard"

    @property
    def reading(self) -> str:
        """The number that is taken for the reading, as it was sent last; "" where there is none."""
        return reading_of(self.understood.profile, self.newest) if self.understood is not None else ""

    @property
    def moved(self) -> float:
        """How many times as far as at rest its reading goes since; above 1, it moves."""
        if self.understood is None or "plunger" not in self._lines:
            return 0.0
        still, now = (self._numbers(phase) for phase in ("heard", "plunger"))
        if not still or not now:
            return 0.0
        decimals = len(self.reading.replace(",", ".").partition(".")[2])
        least = max(_TIMES * (max(still) - min(still)), _STEPS * 10.0**-decimals)
        return float(max(now) - min(now)) / least

    def _numbers(self, phase: Phase) -> list[float]:
        assert self.understood is not None
        profile = self.understood.profile
        texts = (reading_of(profile, _text(line)) for line in self._lines[phase])
        return [found for text in texts if (found := number(text, profile.signs)) is not None]


def _joined(lines: deque[bytes]) -> bytes:
    return b"\n".join(lines) + b"\n"


def _text(line: bytes) -> str:
    return line.decode("latin-1").strip()
