"""The two programs that show the page for tapping: with a dial on a line, and on the built-in engine."""

from collections.abc import Awaitable, Callable
from typing import Final

from textual import work

from .. import output
from ..entry.preferences import Preferences, load_preferences
from ..errors import FINDING, FINE, Failure
from ..job.demo.rehearsal import Rehearsal
from ..job.demo.tapping import Tapped
from ..job.shows import RigShow
from ..job.steps.nudgerun import NudgeRun
from ..say.sweep.findings import verdict
from .app import CoaxlyApp
from .sweeping.livescreen import LiveScreen
from .sweeping.nudgescreen import NudgeScreen

_READ_S: Final = 12.0


class NudgeApp(CoaxlyApp):
    """One nudge with real hardware."""

    def __init__(
        self, run: NudgeRun, play: Callable[[], Awaitable[None]], unit: str, preferences: Preferences | None
    ) -> None:
        super().__init__(unit, preferences)
        self._nudging, self._play = run, play
        self.failure: str | None = None

    @work
    async def flow(self) -> None:
        """The screen, then out."""
        screen = NudgeScreen(self._nudging, self._play)
        await self.push_screen_wait(screen)
        self.failure = screen.failure
        self.exit()


class NudgeRehearsalApp(CoaxlyApp):
    """Sweep, tap, check sweep, on the built-in engine."""

    def __init__(self, job: Rehearsal, dials: int, unit: str, preferences: Preferences | None) -> None:
        super().__init__(unit, preferences)
        self._job, self._dials = job, dials
        self.inside = False

    @work
    async def flow(self) -> None:
        """One after the other, each left by itself after a while."""
        wait = _READ_S / self._job.speed
        found = self._job.act("found")
        if await self.push_screen_wait(LiveScreen(RigShow(found), found.run, go_on_after=wait)):
            tapped = Tapped(self._job, found.run.pipeline, dials=self._dials)
            if await self.push_screen_wait(NudgeScreen(tapped.run, tapped.play, go_on_after=wait)):
                left = self._job.act("left")
                await self.push_screen_wait(LiveScreen(RigShow(left), left.run, go_on_after=wait))
                if (result := left.run.result) is not None:
                    self.inside = result.decision.state == "inside"
                    self.words = [f"VERDICT: {verdict(result, self.unit)}"]
        self.exit()


def show_nudge(run: NudgeRun, play: Callable[[], Awaitable[None]], unit: str) -> None:
    """Work it on the screen. Raises Failure where it failed, in the words of the screen."""
    app = NudgeApp(run, play, unit, load_preferences())
    app.run(mouse=False)
    if app.failure is not None:
        run.discard_if_empty()
        raise Failure(app.failure)


def show_nudge_rehearsal(job: Rehearsal, dials: int, unit: str) -> int:
    """The built-in engine on the screen."""
    app = NudgeRehearsalApp(job, dials, unit, load_preferences())
    app.run(mouse=False)
    output.text([*app.words, f"Recordings: {job.folder}"])
    return FINE if app.inside else FINDING
