"""The page for tapping as a program: with a dial on a line, and on the built-in engine."""

from collections.abc import Awaitable, Callable, Sequence
from typing import Final

from ..errors import FINDING, FINE, Failure
from ..job.demo.ownshop import OwnShop
from ..job.demo.rehearsal import Rehearsal
from ..job.demo.tapping import Tapped
from ..job.steps.nudgerun import NudgeRun
from ..say.sweep.findings import verdict
from .app import CoaxlyApp, run_app
from .sweeping.livescreen import LiveScreen
from .sweeping.nudgescreen import NudgeScreen

_READ_S: Final = 12.0


def show_nudge(run: NudgeRun, play: Callable[[], Awaitable[None]], unit: str) -> None:
    """Work it on the screen. Raises Failure where it failed, in the words of the screen."""

    async def flow(app: CoaxlyApp) -> Sequence[str]:
        screen = NudgeScreen(run, play)
        await app.push_screen_wait(screen)
        if screen.failure is not None:
            raise Failure(screen.failure)
        return ()

    try:
        run_app(flow, unit, as_text=True)
    except Failure:
        run.discard_if_empty()
        raise


def show_nudge_rehearsal(job: Rehearsal, shop: OwnShop, dials: int, unit: str) -> int:
    """Sweep, tap, check sweep on the built-in engine, each left by itself after a while; at the end it says
    where the recordings are."""
    wait, states = _READ_S / job.speed, []

    async def flow(app: CoaxlyApp) -> Sequence[str]:
        found = job.act("found")
        if not await app.push_screen_wait(LiveScreen(found, go_on_after=wait)):
            return ()
        tapped = Tapped(job, found.pipeline, dials=dials)
        if not await app.push_screen_wait(NudgeScreen(tapped.run, tapped.play, go_on_after=wait)):
            return ()
        left = job.act("left")
        try:
            await app.push_screen_wait(LiveScreen(left, go_on_after=wait))
        finally:  # the verdict stands on the page before that is left, by Ctrl+C too
            if (result := left.result) is not None:
                states.append(result.decision.state)
                shop.told = True
                app.words = [f"VERDICT: {verdict(result, app.unit)}", f"Recordings: {job.folder}"]
        return app.words

    run_app(flow, unit, as_text=True)
    return FINE if states == ["inside"] else FINDING
