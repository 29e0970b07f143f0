"""The base of every screen, and what it may ask of the program around it, both typed: so no screen has to
know which program shows it.
"""

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar, Final, TypeVar

from textual import getters
from textual.app import App
from textual.await_complete import AwaitComplete
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.reactive import reactive
from textual.screen import ModalScreen, Screen
from textual.widget import Widget

from ..entry.lengths import UNITS
from ..entry.preferences import Memory, Preferences
from ..terminal import Glyphs, default_glyphs, no_color
from ..voice import Voice
from ..widgets.textlines import KeyLine, Lines

COUNT_S: Final = 0.25
"""How often what it says is drawn anew."""


class Countdown:
    """Counts from `begin` on; of None seconds it never ends."""

    def __init__(self, seconds: float | None = None) -> None:
        self._seconds, self._since = seconds, 0.0
        self._counts = False

    def begin(self) -> None:
        """From now on, if it does not count yet."""
        if not self._counts:
            self._counts, self._since = self._seconds is not None, time.monotonic()

    def stop(self) -> None:
        """Somebody is at it: never by itself."""
        self._seconds, self._counts = None, False

    @property
    def _left(self) -> float:
        return max((self._seconds or 0.0) - (time.monotonic() - self._since), 0.0)

    @property
    def over(self) -> bool:
        """Whether it is time."""
        return self._counts and self._left <= 0.0

    @property
    def words(self) -> str:
        """How long it takes: "by itself in 4 s"; "" where it does not count."""
        return f"by itself in {self._left:.0f} s" if self._counts else ""


REPEAT_S: Final = 0.3
"""Terminals repeat a held key: presses this close to the last one are the same press."""

_FOLLOW_S: Final = 0.25
LOW: Final = 22
"""Rows below which words come before large letters."""

LEAST: Final = (60, 20)
"""Columns and rows below which a page says so instead of showing half of everything."""


@dataclass(frozen=True, slots=True)
class Room:
    """small: why nothing can be shown, "" where there is room. wide, tall: whether there is plenty; huge: a
    whole wall of it."""

    small: str = ""
    wide: bool = False
    tall: bool = False
    huge: bool = False


def room_for(width: int, height: int) -> Room:
    """Of a terminal of so many columns and rows."""
    if width < LEAST[0] or height < LEAST[1]:
        return Room(f"This terminal is {width} x {height}: at least {LEAST[0]} x {LEAST[1]} is needed.")
    return Room(wide=width >= 110, tall=height >= 34, huge=width >= 150 and height >= 48)


Answer = TypeVar("Answer")


class Program(App[object]):
    """What a screen may ask of the program around it; what the program does is in `app.py`."""

    unit: reactive[str] = reactive("thou")

    def __init__(self, unit: str, preferences: Preferences | None = None) -> None:
        """`unit`: of the lengths shown at first."""
        super().__init__(ansi_color=no_color())
        self.preferences = preferences or Preferences()
        self.glyphs: Glyphs = self.preferences.glyphs or default_glyphs()
        self.images: Any = None
        """The class of widget that shows images, where the terminal does."""
        self.voice: Voice | None = None
        self.words: Sequence[str] = ()
        """What is left on the terminal when all is over."""
        self.pressed_at = 0.0
        """When the newest key was pressed (monotonic seconds), however late a busy machine looks at it ..."""
        self.pressed_before = -math.inf
        """... and the press before that, if it was of the same key."""
        self.set_reactive(Program.unit, unit)

    def dress(self) -> None:
        """In the theme that is set."""

    def show_keys(self, lines: list[str], topic: str) -> None:
        """Over the page: what its keys do; the manual has more at that topic."""

    def action_manual(self) -> None:
        """What there is to know of the page that is shown."""

    def action_next_unit(self) -> None:
        """Show lengths in the next unit."""
        self.unit = UNITS[(UNITS.index(self.unit) + 1) % len(UNITS)]


class CoaxlyScreen(Screen[Answer]):
    """A screen of ours, dismissed with its answer: whoever opened it opens the next.
    A title and a line of keys look alike on all of them, and these keys do the same on each."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("m", "app.next_unit", "Unit"),
        Binding("c,f5", "app.cautions", "Cautions"),
        Binding("question_mark,h", "help", "Keys"),
        Binding("q,escape", "leave", "Back"),
        Binding("down", "roll(1)", "Down"),
        Binding("up", "roll(-1)", "Up"),
    ]
    DEFAULT_CSS = """
    CoaxlyScreen { layout: vertical; background: $background; color: $foreground; }
    CoaxlyScreen .more { scrollbar-size-vertical: 1; }
    CoaxlyScreen .more > Lines { height: auto; }
    CoaxlyScreen #title { height: auto; background: $panel; padding: 0 1; text-style: bold; }
    CoaxlyScreen #keys { dock: bottom; height: auto; background: $panel; padding: 0 1; }
    """
    app = getters.app(Program)
    TOPIC: ClassVar[str] = "screen"
    """The page of the manual about it."""

    leaving: Any = None
    """The answer of whoever leaves."""

    _answered = False
    _pressed = -math.inf

    def dismiss(self, result: Answer | None = None) -> AwaitComplete:
        """Leave with the answer. On a slow machine a key or a count can come once more before the page is
        gone: the first answer stands."""
        if self._answered:
            return AwaitComplete()
        self._answered = True
        return super().dismiss(result)

    def key_page(self) -> list[str]:
        """What its keys do, a line each; none where the line at the bottom says it all."""
        return []

    def is_held(self) -> bool:
        """Whether the key that is looked at is the one before, held down; each is to be asked for once."""
        last, self._pressed = self._pressed, self.app.pressed_at
        return self._pressed - last < REPEAT_S

    async def press(self, key: str) -> bool:
        """Do what a key does on this page, whatever has the focus. False: the page knows no such key."""
        bindings = self._bindings.key_to_bindings.get(key, [])
        for binding in bindings:
            await self.run_action(binding.action)
        return bool(bindings)

    async def on_key_line_touched(self, touched: KeyLine.Touched) -> None:
        """Of the keys at the bottom; what the page does not know is for the field that has the focus."""
        self.app.pressed_at = touched.time
        if not await self.press(touched.key):
            self.app.simulate_key(touched.key)

    def action_help(self) -> None:
        """What the keys do; where that is said, the page of the manual."""
        if lines := self.key_page():
            self.app.show_keys(lines, self.TOPIC)
        else:
            self.app.action_manual()

    def action_answer(self, answer: Answer) -> None:
        """Of a key that is an answer."""
        self.dismiss(answer)

    def action_leave(self) -> None:
        """Leave."""
        self.dismiss(self.leaving)

    def action_roll(self, way: int) -> None:
        """More of what is longer than its room."""
        for scroll in self.query(".more").results(VerticalScroll):
            scroll.scroll_relative(y=way, animate=False)

    def rolls(self) -> bool:
        """Whether anything that can roll is longer than its room."""
        return any(scroll.max_scroll_y > 0 for scroll in self.query(".more").results(VerticalScroll))

    def tell(self, name: str, words: str) -> None:
        """Other words in a part; none where the page is drawn anew just now, or too small for it."""
        for lines in self.query(f"#{name}").results(Lines):
            lines.show(words)

    def told_to_end(self) -> None:
        """The program is told to end: what is being recorded is sealed."""

    def take_keys(self) -> list[str]:
        """What the pedal presses."""
        return list(self.app.preferences.take_keys)

    def bind_pedal(self, action: str, *, priority: bool = True) -> None:
        """Let whatever the pedal presses do this. priority: even where something else has the focus."""
        for key in self.take_keys():
            self._bindings.bind(key, action, priority=priority)

    def grow(self) -> None:
        """Set the classes "low", "tall" and "huge" by the size there is, for the style sheet of a page that
        has one large line above a list or a field."""
        width, height = self.size
        self.set_class(width >= 112 and height >= 32, "tall")
        self.set_class(width >= 150 and height >= 46, "huge")
        self.set_class(height < LOW, "low")


def more(*widgets: Widget, id: str | None = None) -> VerticalScroll:  # noqa: A002
    """A part that rolls where it is longer than its room."""
    return VerticalScroll(*widgets, id=id, classes="more", can_focus=False)


class Box(ModalScreen[Answer], CoaxlyScreen[Answer], inherit_bindings=False):
    """A small screen over another one. What is longer than the terminal rolls; its last line stays."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Back", priority=True),
        Binding("question_mark,f1", "app.manual", "Manual"),
        Binding("down", "roll(1)", "Down"),
        Binding("up", "roll(-1)", "Up"),
    ]
    DEFAULT_CSS = """
    Box { align: center middle; }
    Box #box { max-width: 96%; max-height: 100%; height: auto; padding: 1 2; }
    Box #box { background: $panel; color: $foreground; border: heavy $primary; }
    Box.low #box { padding: 0 2; }
    Box .more { height: auto; }
    """
    BESIDE: ClassVar[int] = 1
    """Rows of the box that do not roll."""

    def follow(self, question: Callable[[], str]) -> None:
        """Ask what is true now, as long as it is open: a number in it moves with the dial."""

        self.set_interval(_FOLLOW_S, lambda: self.tell("question", question()))

    def on_resize(self) -> None:
        """What rolls has the rows that the frame and the rest of the box leave."""
        self.grow()
        frame = 2 if self.has_class("low") else 4
        for scroll in self.query(".more").results(VerticalScroll):
            scroll.styles.max_height = max(self.size.height - frame - self.BESIDE, 1)


@dataclass(frozen=True)
class Bench:
    """Where the work is done: the screen, what this machine remembers of its dial, and the shop's folder."""

    app: Program
    memory: Memory
    shop: Path

    @property
    def unit(self) -> str:
        """Of the lengths shown."""
        return self.app.unit

    @property
    def kit(self) -> str:
        """Dowels at hand where a job names none."""
        return self.app.preferences.kit
