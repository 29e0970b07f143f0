"""A housing of a job is tapped into place on the screens, and what comes of it noted."""

from ...job.folder.journal import Nudged
from ...job.folder.shop import Job
from ...job.folder.snapshot import look
from ...job.steps.jobsteps import rig_of
from ...job.steps.nudgejob import note_nudge, request_in, to_tap
from ...job.steps.nudgerun import NudgeRun
from ...say.sweep.doubts import doubt_sentence
from ..bench import Bench
from ..dial.dialflow import need_dial
from ..small.cautionsscreen import CautionsScreen
from ..sweeping.nudgescreen import NudgeScreen


async def nudge(bench: Bench, job: Job) -> str:
    """Tap it, and say what comes next. Raises UsageError where it cannot be tapped now."""
    known = look(job)
    found = to_tap(known)
    if found.doubts:
        return f"! {doubt_sentence(found.doubts[0], bench.unit)}, then sweep again"
    if not found.off:
        return f"{known.title}: nothing off-centre was found that could be tapped away"
    first = not any(isinstance(record, Nudged) for record in known.records)
    if first and not await bench.app.push_screen_wait(CautionsScreen("nudge")):
        return ""
    dial = await need_dial(bench, rig_of(known))
    if dial is None:
        return ""
    run = NudgeRun(request_in(known, found.pipeline, (dial, None)))
    screen = NudgeScreen(run, run.play)
    held = await bench.app.push_screen_wait(screen)
    noted = note_nudge(known, found.path, run)
    if screen.failure is not None:
        return f"! {screen.failure}"
    if not noted:
        return ""
    how = "tapped, and it held" if held else "left off before it was right"
    return f"{known.title}: {how}. Now the check sweep, as left"
