"""Tapping a housing into place on the screen: one large number still to go, one arrow, a bar, and STOP."""

import asyncio
import time
from collections.abc import Awaitable, Callable
from typing import Final

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical

from ...errors import RUN_ERRORS
from ...job.steps.nudge import Step
from ...job.steps.nudgerun import NudgeRun
from ...say.nudgewords import CAUTION, SEEN, came, facts, instruction, large, to_go
from ...say.smallwords import shortened
from ...widgets.bigwords import BigWords
from ...widgets.nudgeplot import NudgePlot
from ...widgets.textlines import KeyLine, Lines
from ..base import CoaxlyScreen, Countdown, room_for

_REDRAW_S: Final = 1.0 / 10.0
_TWICE_S: Final = 6.0
_NAMES: Final = ("title", "large", "unit", "prompt", "came", "facts", "caution", "keys", "plot")


class NudgeScreen(CoaxlyScreen[bool]):
    """Dismissed with True where it is right and held, with False where it was left off."""

    TOPIC = "tapping"
    AUTO_FOCUS = None
    DEFAULT_CSS = """
    NudgeScreen #top { height: 8; padding: 0 1; }
    NudgeScreen #large { width: 1fr; height: 100%; }
    NudgeScreen #unit { width: 14; height: 100%; text-style: bold; padding: 1 0 0 1; }
    NudgeScreen #body { height: 1fr; }
    NudgeScreen #plot { width: 1fr; height: 100%; }
    NudgeScreen #side { width: 40; padding: 0 1; }
    NudgeScreen #prompt { height: auto; min-height: 4; padding: 0 1; border: heavy $primary; }
    NudgeScreen #prompt { color: $primary; text-style: bold; }
    NudgeScreen #came { height: auto; color: $secondary; text-style: bold; }
    NudgeScreen #facts { height: 1fr; }
    NudgeScreen #caution { height: auto; padding: 0 1; }
    NudgeScreen.low #top { height: 5; }
    NudgeScreen.tall #top { height: 14; }
    NudgeScreen.small #top { height: 3; }
    NudgeScreen.small #side { width: 100%; padding: 0; }
    NudgeScreen.small #prompt { border: none; min-height: 1; }
    NudgeScreen.small #plot, NudgeScreen.small #facts, NudgeScreen.small #caution { display: none; }
    NudgeScreen.plain #prompt { border: ascii $primary; }
    """

    def __init__(
        self, run: NudgeRun, play: Callable[[], Awaitable[None]], *, go_on_after: float | None = None
    ) -> None:
        """play: lets it happen; go_on_after: seconds after which the end is left by itself (for the demo)."""
        super().__init__()
        self._nudging, self._play = run, play
        self._countdown = Countdown(go_on_after)
        self._asked = -_TWICE_S
        self._playing: asyncio.Task[None] | None = None
        self.failure: str | None = None

    def compose(self) -> ComposeResult:
        """The number above, the arrow and the words below it."""
        yield Lines(id="title")
        with Horizontal(id="top"):
            yield BigWords(self.app.glyphs, id="large")
            yield Lines(id="unit")
        with Horizontal(id="body"):
            yield NudgePlot(self.app.glyphs, id="plot")
            with Vertical(id="side"):
                yield Lines(id="prompt")
                yield Lines(id="came")
                yield Lines(id="facts")
        yield Lines(f"! {CAUTION}: C", id="caution")
        yield KeyLine("Space take the reading   M unit   C cautions   Q leave", id="keys")

    def on_mount(self) -> None:
        """Read the dials, and draw them."""
        self.bind_pedal("take")
        self.set_class(self.app.glyphs == "ascii", "plain")
        self._playing = asyncio.create_task(self._read())
        self.set_interval(_REDRAW_S, self.redraw)
        self.redraw()

    async def _read(self) -> None:
        try:
            await self._play()
        except RUN_ERRORS as error:
            self.failure = str(error)

    def on_unmount(self) -> None:
        """Whatever ended it, the recordings are whole."""
        self._nudging.stop()

    def on_resize(self) -> None:
        """Larger letters where there is room; where there is hardly any, no more than what is to be done."""
        self.grow()
        self.set_class(bool(room_for(*self.size).small), "small")

    def redraw(self) -> None:
        """Everything, from one moment."""
        if not all(self.query(f"#{name}") for name in _NAMES):
            return  # containers build their children a little after the screen itself
        unit = self.app.unit
        view = self._nudging.view()
        self.query_one("#title", Lines).show(f"{shortened(view.title)}: tap the housing into place, {SEEN}")
        self.query_one("#large", BigWords).show(large(view, unit))
        beside = f"{unit}\nto go" if to_go(view) else ""
        self.query_one("#unit", Lines).show(beside)
        failed = self.failure or view.failure
        self.query_one("#prompt", Lines).show(f"! {failed}" if failed else instruction(view))
        self.query_one("#came", Lines).show("" if view.finished else came(view, unit))
        self.query_one("#facts", Lines).show("\n".join(facts(view, unit)))
        self.query_one("#plot", NudgePlot).show(view)
        if view.finished:
            self.query_one("#keys", Lines).show("Space goes on   M unit   Q leave")
            self._countdown.begin()
            if self.is_current and self._countdown.over:
                self.action_take()

    def action_take(self) -> None:
        """The one key."""
        held = self.is_held()
        if self._nudging.finished or self.failure is not None:
            self.dismiss(self._nudging.nudge.step is Step.DONE)
        elif not held:
            self._nudging.press()

    def action_leave(self) -> None:
        """Leave; while the housing stands loose only if asked twice."""
        now = time.monotonic()
        loose = self._nudging.nudge.step not in (Step.PARK, Step.DONE) and not self._nudging.finished
        if loose and now - self._asked > _TWICE_S:
            self._asked = now
            self.query_one("#keys", Lines).show("The housing is not right yet. Q again leaves it so")
            return
        self.dismiss(self._nudging.nudge.step is Step.DONE)
