"""Is the dial where it must be? Before each sweep: where the tip goes, how far it is in, the way to turn."""

import time
from dataclasses import dataclass
from typing import ClassVar, Final

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical

from coaxly.fitter.clues.angles import Turn
from coaxly.logger.angle.source import Source
from coaxly.logger.watch.preload import Preload

from ...draw.setuppicture import draw_setup
from ...say.smallwords import shortened
from ...say.sweep.mounting import AGAIN, WHICH_WAY, bar, place_lines, turn_line
from ...widgets.textlines import Lines
from ..base import more
from ..sheet import Key, ListeningSheet

_TWICE_S: Final = 6.0


@dataclass(frozen=True, slots=True)
class SettingUp:
    """What is to be swept. dial: that is listened to meanwhile. turn: as it is known; asks: whether it has to
    be, for places that are called out; where angles come by themselves it may be left
    open. before: the feature of the sweep before this one, "" for none."""

    title: str
    feature: str
    dial: Source
    polarity: int = 1
    turn: Turn | None = None
    asks: bool = True
    before: str = ""


@dataclass(frozen=True, slots=True)
class SetUp:
    """How it is begun. numbers: from two numbers, not by a sweep."""

    turn: Turn | None
    numbers: bool = False


class SetUpScreen(ListeningSheet[SetUp | None]):
    """Dismissed with how to begin, or None."""

    TOPIC = "first-sweep"
    SHOWN_EVERY_S = 0.15
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "turned('ccw')", "Anticlockwise"),
        Binding("d", "turned('cw')", "Clockwise"),
        Binding("2", "numbers", "Two numbers"),
    ]
    DEFAULT_CSS = """
    SetUpScreen #side { width: 64%; }
    SetUpScreen.wide #side { width: 56%; }
    SetUpScreen #todo { height: 1fr; }
    SetUpScreen #bar { height: auto; margin: 1 0 0 0; text-style: bold; color: $primary; }
    SetUpScreen #turn { height: auto; margin: 1 0 0 0; text-style: bold; }
    SetUpScreen #said { height: auto; color: $warning; text-style: bold; }
    """

    def __init__(self, asked: SettingUp) -> None:
        """What is to be swept."""
        super().__init__()
        self._asked, self._turn = asked, asked.turn
        self.preload = Preload(asked.dial, asked.polarity)
        self._asked_at = -_TWICE_S

    async def _listen(self) -> None:
        await self.preload.listen()

    def title_words(self) -> str:
        """What is set up, whence it is seen."""
        return (
            f"{shortened(self._asked.title)}: set up for the {self._asked.feature.upper()}   seen from BEHIND"
        )

    def keys(self) -> list[Key]:
        """On, the way, two numbers, out."""
        ways = [("A", "anticlockwise"), ("D", "clockwise")]
        return [("Space", "begin"), *ways, ("2", "two numbers"), ("Q", "jobs")]

    def body(self) -> ComposeResult:
        """The picture; beside it what to do, the bar, the way."""
        asked, turn = self._asked, self._turn
        with Horizontal(id="below"):
            yield self.picture(draw_setup, asked.feature, turn)
            with Vertical(id="side"):
                yield more(Lines("\n".join(place_lines(asked.feature, asked.before)), id="text"), id="todo")
                yield Lines(bar(self.preload, self.unit), id="bar")
                yield Lines(turn_line(turn, called=asked.asks), id="turn")
                yield Lines(id="said")

    def _look(self) -> None:
        self.tell("bar", bar(self.preload, self.unit))

    def go_on(self) -> None:
        """Begin, once the way is known; where nobody can tell that the tip is pressed in as it must be, only
        when it is asked for twice."""
        if self.is_held():
            return
        now = time.monotonic()
        if self._asked.asks and self._turn is None:
            self.tell("said", f"! {WHICH_WAY}")
            return
        sure = self.preload.state in ("typed", "good", "failed")  # of one that failed the sweep tells more
        if not sure and now - self._asked_at > _TWICE_S:
            self._asked_at = now
            self.tell("said", AGAIN)
            return
        self.dismiss(SetUp(self._turn))

    def action_turned(self, turn: Turn) -> None:
        """Which way the crank is turned."""
        self._turn = turn
        self.redraw()

    def action_numbers(self) -> None:
        """No sweep: two numbers of a plain dial."""
        self.dismiss(SetUp(self._turn, numbers=True))
