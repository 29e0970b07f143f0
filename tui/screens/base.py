"""The base of every screen, and what it may ask of the program around it, both typed: so no screen has to
know which program shows it.
"""

from typing import Any, ClassVar, Final, TypeVar

from textual import getters
from textual.app import App
from textual.await_complete import AwaitComplete
from textual.reactive import reactive
from textual.screen import ModalScreen, Screen

from ..entry.lengths import UNITS
from ..entry.preferences import Preferences
from ..terminal import Glyphs, default_glyphs, no_color
from ..voice import Voice

REPEAT_S: Final = 0.3
"""Terminals repeat a held key: presses this close to the last one are the same press."""

LOW: Final = 22
"""Rows below which words come before large letters."""

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
        self.set_reactive(Program.unit, unit)

    def dress(self) -> None:
        """In the theme that is set."""

    def action_next_unit(self) -> None:
        """Show lengths in the next unit."""
        self.unit = UNITS[(UNITS.index(self.unit) + 1) % len(UNITS)]


class CoaxlyScreen(Screen[Answer]):
    """A screen of ours, dismissed with its answer: whoever opened it opens the next.
    A title and a line of keys look alike on all of them."""

    DEFAULT_CSS = """
    CoaxlyScreen { layout: vertical; background: $background; color: $foreground; }
    CoaxlyScreen #title { height: 1; background: $panel; padding: 0 1; text-style: bold; }
    CoaxlyScreen #keys { dock: bottom; height: auto; background: $panel; padding: 0 1; }
    """
    app = getters.app(Program)
    TOPIC: ClassVar[str] = "screen"
    """The page of the manual about it."""

    _answered = False

    def dismiss(self, result: Answer | None = None) -> AwaitComplete:
        """Leave with the answer. On a slow machine a key or a count can come once more before the page is
        gone: the first answer stands."""
        if self._answered:
            return AwaitComplete()
        self._answered = True
        return super().dismiss(result)

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


class Box(ModalScreen[Answer], CoaxlyScreen[Answer]):
    """A small screen over another one."""
