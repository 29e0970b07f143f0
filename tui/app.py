"""The screen program: which screens follow each other. What they show is made elsewhere."""

import asyncio
import gc
import os
from pathlib import Path
from typing import Any, ClassVar

from textual import work
from textual.app import App
from textual.binding import Binding, BindingType
from textual.reactive import reactive

from fitter import Result

from .guide import guide_lines, guide_picture
from .lengths import UNITS
from .rehearsal import Act, Rehearsal
from .replayrun import ReplayRun
from .say import comparison_lines, dowels, option_lines, verdict
from .screens.pages import Page
from .screens.sweep import SweepScreen
from .sweeprun import SweepRun
from .terminal import default_glyphs, no_color
from .theme import DARK, LIGHT
from .view import View

_READ_S = 12.0
"""How long the demo leaves a finding on the screen before it goes on."""


class CoaxlyApp(App[None]):
    """Base of the three flows: themes, units, quitting."""

    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("ctrl+c", "quit", "Quit", priority=True)]
    unit: reactive[str] = reactive("thou")

    def __init__(self, unit: str) -> None:
        """`unit`: of the lengths shown at first."""
        super().__init__(ansi_color=no_color())
        self.set_reactive(CoaxlyApp.unit, unit)

    def on_mount(self) -> None:
        """Take our own themes, freeze what start-up allocated, and begin."""
        for theme in (DARK, LIGHT):
            self.register_theme(theme)
        if not no_color():
            self.theme = LIGHT.name if os.environ.get("COAXLY_THEME") == "light" else DARK.name
        # A full collection over the screen's many objects would delay readings by 20 ms.
        gc.collect()
        gc.freeze()
        self.flow()

    @work
    async def flow(self) -> None:
        """The screens in their order."""
        raise NotImplementedError

    def action_next_unit(self) -> None:
        """Show lengths in the next unit."""
        self.unit = UNITS[(UNITS.index(self.unit) + 1) % len(UNITS)]


class LiveShow:
    """A sweep on real ports, for the measuring screen."""

    def __init__(self, run: SweepRun, sources: dict[str, tuple[str, Any]]) -> None:
        """`sources`: port name -> (url, profile)."""
        self.run, self.sources = run, sources
        self.confirm, self.undo, self.finish, self.view = run.confirm, run.undo, run.finish, run.view

    @property
    def result(self) -> Result | None:
        """The finding, once finished."""
        return self.run.result

    async def play(self) -> None:
        """Open the ports and go on until the sweep is finished."""
        await self.run.run(self.sources)


class RigShow:
    """A sweep of the rehearsal, for the measuring screen: the rig's hand does the work."""

    def __init__(self, act: Act) -> None:
        """The act to be played."""
        self.act = act
        self.confirm, self.undo, self.finish = act.run.confirm, act.run.undo, act.run.finish

    @property
    def result(self) -> Result | None:
        """The finding, once finished."""
        return self.act.run.result

    def view(self) -> View:
        """What there is to see now."""
        return self.act.run.view()

    async def play(self) -> None:
        """Let the hand turn the crank."""
        await self.act.play()


class SweepApp(CoaxlyApp):
    """One sweep with real hardware."""

    def __init__(self, show: LiveShow | ReplayRun, unit: str) -> None:
        """The sweep to be shown."""
        super().__init__(unit)
        self._show = show
        self.failure: str | None = None

    @work
    async def flow(self) -> None:
        """The measuring screen, then out."""
        screen = SweepScreen(self._show)
        await self.push_screen_wait(screen)
        self.failure = screen.failure
        self.exit()


class RehearsalApp(CoaxlyApp):
    """The whole job on the rig."""

    def __init__(self, rehearsal: Rehearsal, unit: str) -> None:
        """The job to be shown."""
        super().__init__(unit)
        self.rehearsal = rehearsal
        self.words: list[str] = []

    @work
    async def flow(self) -> None:
        """Found, plan, set, left, verdict."""
        if await self._whole_job():
            await asyncio.sleep(0)
        self.exit()

    async def _whole_job(self) -> bool:
        job, wait = self.rehearsal, _READ_S / self.rehearsal.speed
        found = job.act("found")
        if not await self.push_screen_wait(SweepScreen(RigShow(found), go_on_after=wait)):
            return False
        options = job.options(found.run)
        chosen = options[0]
        page = Page(
            "Dowels to choose from, best first",
            [
                *option_lines(options, self.unit),
                "",
                *guide_lines(chosen, None, self.unit),
                *guide_picture(chosen, None, default_glyphs()),
            ],
            f"fit {dowels(chosen, self.unit)} and sweep again",
            go_on_after=wait,
        )
        if not await self.push_screen_wait(page):
            return False
        job.set_dowels(chosen)
        job.write_job(chosen)
        left = job.act("left")
        if not await self.push_screen_wait(SweepScreen(RigShow(left), go_on_after=wait)):
            return False
        assert left.run.result is not None
        self.words = [
            *comparison_lines(job.comparison(found.run, left.run, chosen), self.unit),
            "",
            f"  VERDICT: {verdict(left.run.result, self.unit)}",
            "",
            f"  Recordings: {job.folder}",
        ]
        return await self.push_screen_wait(Page("Proof: planned against measured", self.words, ""))


def show_sweep(run: SweepRun, sources: dict[str, tuple[str, Any]], unit: str) -> None:
    """A live sweep on the screen; returns when it is finished or left. Raises LoggerError."""
    app = SweepApp(LiveShow(run, sources), unit)
    app.run(mouse=False)
    if run.failure is not None:
        raise run.failure


def show_rehearsal(rehearsal: Rehearsal, unit: str) -> int:
    """The demo on the screen."""
    app = RehearsalApp(rehearsal, unit)
    app.run(mouse=False)
    print("\n".join(app.words) if app.words else f"Left early. Recordings: {rehearsal.folder}")
    return app.return_code or 0


def show_replay(path: Path, speed: float, unit: str) -> int:
    """A recording on the screen, `speed` times as fast as it was made."""
    app = SweepApp(ReplayRun(path, speed), unit)
    app.run(mouse=False)
    return app.return_code or 0
