"""The screen program: which screens follow each other. What they show is made elsewhere."""

import math
import os
import time
from collections.abc import Awaitable, Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Final

from textual import events, work
from textual.binding import Binding, BindingType
from textual.filter import LineFilter
from textual.theme import Theme
from textual.widgets import Input

from .. import output
from ..endings import ended_by_signals, tell
from ..entry.preferences import Memory, Preferences, load_preferences
from ..errors import OURS, Failure
from ..job.folder.shop import shop_folder
from ..terminal import no_color
from ..voice import Voice, find_voice
from ..widgets.images import image_widget
from ..widgets.textlines import CleanLines
from .base import Box, CoaxlyScreen, Program
from .flows import work_bench
from .small.cautionsscreen import CautionsScreen

DARK: Final = Theme(
    name="bench-dark",
    primary="#62e0c8",
    secondary="#b9c4ff",
    foreground="#f2f4ef",
    background="#0e1317",
    surface="#0e1317",
    panel="#1b232a",
    success="#a5e887",
    warning="#ffbd85",
    error="#ffa3ad",
    accent="#62e0c8",
    dark=True,
)
LIGHT: Final = Theme(
    name="bench-light",
    primary="#003f3c",
    secondary="#2a2a78",
    foreground="#14171a",
    background="#fafaf5",
    surface="#fafaf5",
    panel="#e6e8e2",
    success="#0c4417",
    warning="#542c00",
    error="#74001e",
    accent="#003f3c",
    dark=False,
)


if TYPE_CHECKING:  # the list of jobs is there before anything can be swept
    from ..job.demo.ownshop import OwnShop
    from ..job.demo.rehearsal import Rehearsal
    from ..job.sweep.replayrun import ReplayRun
    from ..job.sweep.run import SweepRun

_CLEAN = CleanLines()
_PAGED: Final = ("bore", "face", "pilot", "flywheel")
"""Features whose finding is a run-out, and has a page."""

DEAF_S: Final = 0.7
"""After the shell has handed the terminal back, so long keys are not ours."""

Flow = Callable[["CoaxlyApp"], Awaitable[Sequence[str]]]
"""The pages in their order; returns what is left on the terminal when all is over."""


class CoaxlyApp(Program):
    """Shows the pages of a flow: themes, signals, the cautions, quitting."""

    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+c", "quit", "Quit", priority=True),
        Binding("ctrl+z", "suspend_process", "To the shell", priority=True),
        Binding("c", "cautions", "Cautions"),
        Binding("question_mark,f1", "manual", "Manual"),
    ]

    def __init__(self, flow: Flow, unit: str, preferences: Preferences | None = None) -> None:
        """`unit`: of the lengths shown at first."""
        super().__init__(unit, preferences)
        self._flow = flow
        self.failure: str | None = None
        self._deaf_until, self._key = 0.0, ""

    def on_mount(self) -> None:
        """Take our own themes, and begin."""
        for theme in (DARK, LIGHT):
            self.register_theme(theme)
        self.dress()
        self.app_resume_signal.subscribe(self, lambda _: self._back_from_the_shell())
        self._ended = ended_by_signals(self._told_to_end)
        self._ended.__enter__()
        self._begin()

    def dress(self) -> None:
        """In the theme that is set."""
        if not no_color():
            light = os.environ.get("COAXLY_THEME", self.preferences.theme) == "light"
            self.theme = LIGHT.name if light else DARK.name

    def _back_from_the_shell(self) -> None:
        """After Ctrl+Z and fg: paint anew, and be deaf to what was typed for the shell (fg itself)."""
        self._deaf_until = time.monotonic() + DEAF_S
        self.refresh(layout=True)

    async def on_event(self, event: events.Event) -> None:
        """Every event, but for keys that were meant for the shell. A capital does what its letter does: pages
        name their keys by capitals, and Caps Lock is on at times."""
        if isinstance(event, events.Key):
            if event.time < self._deaf_until:
                return
            if not event.is_forwarded:
                self.pressed_before = self.pressed_at if event.key == self._key else -math.inf
                self.pressed_at, self._key = event.time, event.key
            letter = event.character or ""
            if letter.isascii() and letter.isupper() and not isinstance(self.focused, Input):
                event = events.Key(letter.lower(), letter.lower())
        await super().on_event(event)

    def _told_to_end(self) -> None:
        """By a signal: first of all the recording is sealed, then the terminal is given back."""
        for screen in self.screen_stack:
            if isinstance(screen, CoaxlyScreen):
                screen.told_to_end()
        self.exit()

    async def action_quit(self) -> None:
        """Ctrl+C on a page is what it is elsewhere."""
        tell(self._told_to_end)

    def on_unmount(self) -> None:
        """Signals are again what they were."""
        self._ended.__exit__(None, None, None)

    @work
    async def _begin(self) -> None:
        try:
            self.words = await self._flow(self)
        except OURS as error:
            self.failure = str(error)
        self.exit()

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Whatever is drawn goes through these, ours last."""
        return [*super().get_line_filters(), _CLEAN]

    def action_cautions(self) -> None:
        """What can hurt somebody, one key away from every page."""
        self.push_screen(CautionsScreen())

    def show_keys(self, lines: list[str], topic: str) -> None:
        """Over the page: what its keys do."""
        from .small.manualscreen import HelpScreen

        self.push_screen(HelpScreen(lines, topic))

    def action_manual(self) -> None:
        """What there is to know of the page that is shown, where it has no list of its keys."""
        from .small.manualscreen import ManualScreen

        pages = [screen for screen in self.screen_stack if not isinstance(screen, Box)]
        page = pages[-1]  # a box belongs to the page that it lies over
        self.push_screen(ManualScreen(page.TOPIC if isinstance(page, CoaxlyScreen) else ""))


async def show_swept(app: CoaxlyApp, run: "SweepRun", bare: str = "") -> Sequence[str]:
    """One sweep with real hardware, or typed, and its finding. bare: unit of a typed number that has none."""
    from .sweeping.donescreen import DoneScreen, Swept
    from .sweeping.typedscreen import live_screen

    header = run.pipeline.header
    paged = header.feature in _PAGED
    screen = live_screen(run, go_on_after=0.0 if paged else None, bare=bare)
    await app.push_screen_wait(screen)
    if screen.failure is not None:
        raise Failure(screen.failure)
    if paged and run.result is not None:
        done = Swept(header.job or "sweep", header.stage or "", run.result, then="leave", again=False)
        await app.push_screen_wait(DoneScreen(done))
    return ()


async def show_replayed(app: CoaxlyApp, run: "ReplayRun") -> Sequence[str]:
    """One recording."""
    from .sweeping.replayscreen import ReplayScreen

    await app.push_screen_wait(ReplayScreen(run))
    return ()


def run_app(
    flow: Flow,
    unit: str,
    voice: Voice | None = None,
    *,
    as_text: bool = False,
) -> int:
    """Show it until it ends, leave its words on the terminal, and return the exit code. voice: that speaks it
    too. as_text: without images and mouse. Raises Failure where it failed, in the words of the screen."""
    app = CoaxlyApp(flow, unit, load_preferences())
    app.voice = voice
    # The terminal is asked first whether it shows images: later its answers are not ours.
    app.images = None if as_text else image_widget()
    app.run(mouse=not as_text)
    if app.failure is not None:
        raise Failure(app.failure)
    if app.words:
        output.text(list(app.words))
    return app.return_code or 0


def show_sweep(run: "SweepRun", unit: str, voice: Voice | None = None, bare: str = "") -> None:
    """A live sweep on the screen; returns when it is finished or left. bare: unit of a typed number that
    carries none. Raises Failure."""
    try:
        run_app(lambda app: show_swept(app, run, bare), unit, voice)
    except Failure:
        run.discard_if_empty()
        raise


def show_rehearsal(rehearsal: "Rehearsal", shop: "OwnShop", unit: str) -> int:
    """The demo on the screen; at its end it says where the shop is."""
    from .rehearsing import rehearse

    async def flow(app: CoaxlyApp) -> Sequence[str]:
        try:
            return await rehearse(app, rehearsal)
        finally:
            shop.told = bool(app.words)

    return run_app(flow, unit)


def show_replay(path: Path, speed: float, unit: str) -> int:
    """A recording on the screen, `speed` times as fast as it was made."""
    from ..job.sweep.replayrun import ReplayRun

    run = ReplayRun(path, speed)
    return run_app(lambda app: show_replayed(app, run), unit)


def show_bench(shop: str | None = None) -> int:
    """The jobs of a shop. Raises UsageError, or Failure where they cannot be read."""
    known, memory = load_preferences(), Memory()
    folder = shop_folder(shop, known.shop)
    voice = find_voice() if known.voice else None
    return run_app(lambda app: work_bench(app, memory, folder), known.unit, voice)
