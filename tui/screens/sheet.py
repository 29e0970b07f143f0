"""The base of every page between two sweeps: title, keys, unit, cautions, a countdown, and a first moment in
which a key pressed once too often counts for nothing.
"""

import asyncio
import math
import time
from collections.abc import Callable
from functools import partial
from typing import Any, ClassVar, Final

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widget import Widget

from ..draw.raster import Raster
from ..widgets.images import ImagePicture
from ..widgets.picture import Picture
from ..widgets.textlines import KeyLine, Lines
from .base import COUNT_S, LOW, Answer, CoaxlyScreen, Countdown, Room, room_for

DEAF_S: Final = 0.6
"""A pedal pressed once too often on the page before is no answer to this one."""

SEEN_S: Final = 0.9
"""Nor is one of several quick presses, while the page has not been there for so long."""

FRESH_S: Final = 1.0
"""A key that was not pressed for so long is no more one of those."""

_LOOK_S: Final = 0.2
"""How often it is looked whether a part has become longer than its room."""

Key = tuple[str, str]
"""A key as it is shown, and what it does."""


class Sheet(CoaxlyScreen[Answer]):
    """A page that is drawn whole from its values, once a change: anew in another unit or size."""

    AUTO_FOCUS = None
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("end", "roll(1)", "Down"),
        Binding("home", "roll(-1)", "Up"),
    ]
    DEFAULT_CSS = """
    Sheet #small { padding: 1; text-style: bold; }
    Sheet #verdict { height: 34%; min-height: 8; width: 100%; padding: 0 1; }
    Sheet.low #verdict { min-height: 6; }
    Sheet #below { height: 1fr; }
    Sheet #picture { width: 1fr; height: 100%; }
    Sheet #side { height: 100%; padding: 0 1; }
    """
    ROLLS: ClassVar[str] = "Down"
    """The key that shows more where there is more, as it is called on the page."""
    ROOMY: ClassVar[bool] = True
    """Whether it says how much it wants where there is less than that; text rolls in any size."""

    def __init__(self, *, go_on_after: float | None = None) -> None:
        """go_on_after: seconds after which it goes on by itself (for the demo)."""
        super().__init__()
        self.countdown = Countdown(go_on_after)
        self._seen_at = math.inf
        self._drawn_for: Room | None = None
        self._rolls = False

    @property
    def unit(self) -> str:
        """Of the lengths shown."""
        return self.app.unit

    @property
    def room(self) -> Room:
        """How much there is: what stands where depends on it."""
        return room_for(*self.app.size)

    def title_words(self) -> str:
        """The line at the top."""
        raise NotImplementedError

    def keys(self) -> list[Key]:
        """The keys of this page, most wanted first."""
        raise NotImplementedError

    def body(self) -> ComposeResult:
        """What stands between."""
        raise NotImplementedError

    def compose(self) -> ComposeResult:
        """Title, body, keys; in a terminal that is too small, a word about it."""
        self._drawn_for = room = self.room
        self.set_class(self.app.size.height < LOW, "low")
        for name in ("wide", "tall", "huge"):
            self.set_class(getattr(room, name), name)
        if self.ROOMY and self.room.small:
            yield Lines(self.room.small, id="small")
            yield KeyLine("Q back", id="keys")
            return
        yield Lines(self.title_words(), id="title")
        yield from self.body()
        yield KeyLine(self.key_words(), id="keys")

    def picture(self, draw: Callable[..., Raster], *what: Any) -> Widget:
        """`draw(*what, width, height, dots)`: an image where the terminal shows them, else in characters."""
        drawn, images = partial(draw, *what), self.app.images
        if images is None:
            return Picture(self.app.glyphs, drawn, "picture")
        return ImagePicture(images, drawn, "picture")

    def key_words(self) -> str:
        """The line at the bottom."""
        more = [(self.ROLLS, "more")] if self._rolls else []
        *own, last = self.keys()
        return key_line([*own, *more, last], self.app.size.width - 2)

    def _tell_of_more(self) -> None:
        """Once it is laid out: whether anything is longer than its room."""
        if self.rolls() != self._rolls:
            self._rolls = not self._rolls
            self.tell("keys", self.key_words())

    def on_mount(self) -> None:
        """The keys of the pedal, drawn anew in another unit, and the countdown, where there is one."""
        self.call_after_refresh(self._seen)
        self.bind_pedal("take")
        self.set_interval(_LOOK_S, self._tell_of_more)
        self.watch(self.app, "unit", self.redraw, init=False)
        self.countdown.begin()
        if self.countdown.words:
            self.set_interval(COUNT_S, self._count)

    def on_screen_resume(self) -> None:
        """A page that comes back is deaf as well."""
        self._seen_at = math.inf
        self.call_after_refresh(self._seen)

    def _seen(self) -> None:
        """It is drawn: what was pressed before, however late that is looked at, was for another page."""
        self._seen_at = time.monotonic()

    def on_resize(self, event: events.Resize) -> None:
        """Another size may want other words, and a low terminal gives the verdict less."""
        self.set_class(event.size.height < LOW, "low")
        if self._drawn_for is not None and self._drawn_for != room_for(*event.size):
            self.redraw()

    def tell_time(self) -> None:
        """Draw anew what says the countdown."""

    def _count(self) -> None:
        if self.countdown.words:
            self.tell_time()
        if self.is_current and self.countdown.over:
            self.go_on()

    def redraw(self) -> None:
        """Draw everything anew."""
        self.refresh(recompose=True)

    def action_take(self) -> None:
        """What the pedal means, but for a press that was meant for the page before."""
        app = self.app
        seen = app.pressed_at - self._seen_at
        if seen >= (DEAF_S if app.pressed_at - app.pressed_before >= FRESH_S else SEEN_S):
            self.go_on()

    def go_on(self) -> None:
        """The next thing."""

    def key_page(self) -> list[str]:
        """What the keys do."""
        back = "Up" if self.ROLLS == "Down" else "Home"
        keys = [*self.keys(), *_USUAL, (f"{self.ROLLS}, {back}", "more, where there is more")]
        return [f"{key:<12} {what}" for key, what in keys]


_USUAL: Final[list[Key]] = [("M", "unit"), ("C", "cautions"), ("?", "keys")]


def key_line(keys: list[Key], width: int) -> str:
    """The keys in one line; where they are too many, the usual ones are only on the page of "?"."""
    *own, last = keys
    for hidden in range(len(_USUAL) + 1):
        for gap in ("   ", "  "):
            line = gap.join(f"{key} {what}" for key, what in [*own, *_USUAL[hidden:], last])
            if len(line) <= width:
                return line
    return "  ".join(f"{key} {what}" for key, what in keys)


class ListeningSheet(Sheet[Answer]):
    """A sheet that listens to a line while it stands, and lets it go when it is left."""

    SHOWN_EVERY_S: ClassVar[float] = 0.2
    _listening: asyncio.Task[None] | None = None

    def on_mount(self) -> None:
        """Listen, and show what comes."""
        self._listening = asyncio.create_task(self._listen())
        self.set_interval(self.SHOWN_EVERY_S, self._look)

    async def on_unmount(self) -> None:
        """The port is free again when the next page opens it."""
        if self._listening is not None:
            self._listening.cancel()
            await asyncio.gather(self._listening, return_exceptions=True)

    async def _listen(self) -> None:
        """Hear the line until it is cancelled."""
        raise NotImplementedError

    def _look(self) -> None:
        """Show what has come."""
        raise NotImplementedError
