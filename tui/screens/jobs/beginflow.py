"""How a sweep of a job begins: one that was broken off, a dial that is set up, or two numbers."""

from pathlib import Path

from coaxly.logger.angle.source import Source
from coaxly.logger.profile import load
from coaxly.logger.recording.records import ENCODER, INDICATOR

from ...entry.places import parse_swing
from ...entry.rigging import Rigging
from ...errors import UsageError
from ...job.folder.snapshot import Snapshot, look
from ...job.recorded.pipeline import replay
from ...job.steps import jobsteps as steps
from ...job.steps.leftoff import broken_off, need_rest
from ...job.sweep.begin import TwoNumbers, begin, told
from ...job.sweep.request import TYPED
from ...job.sweep.resume import resume
from ...job.sweep.run import SweepRun
from ...say.smallwords import shortened
from ...say.sweep.mounting import ASK_NUMBERS
from ..base import Bench
from ..dial.dialflow import need_dial
from ..dial.encoderflow import encoder_again, with_encoder
from ..small.askscreens import QuestionScreen, understood
from ..sweeping.setupscreen import SettingUp, SetUp, SetUpScreen


async def begin_sweep(bench: Bench, known: Snapshot, stage: str, feature: str) -> SweepRun | None:
    """A new sweep, or one that was left off and is gone on with; None to leave it. One of two
    numbers is over already. Raises UsageError."""
    need_rest(known)
    old = next(iter(reversed(broken_off(known, stage, feature))), None)
    if old is not None:
        answers = [("g", "on", "go on with it"), ("n", "new", "begin a new one; the old one is kept")]
        question = f"{shortened(known.title)}: a sweep was broken off, {old.name}."
        wanted = await bench.app.push_screen_wait(QuestionScreen(question, answers, pedal="on"))
        if not wanted:
            return None
        if wanted == "on":
            return await _resumed(bench, old)
    dial = await need_dial(bench, steps.rig_of(known))
    while dial is not None:
        rig = with_encoder(bench, steps.rig_of(known), dial)
        set_up = await _set_up(bench, known, feature, dial, rig)
        if set_up is None:
            return None
        if set_up.turn is not None:
            bench.memory.keep(turn=set_up.turn)
            steps.keep_turn(look(known.job), set_up.turn, called=steps.is_called_out(rig, dial))
        if not set_up.numbers:
            fresh = look(known.job)  # with what was kept of it just now
            rig = with_encoder(bench, steps.rig_of(fresh), dial)
            return begin(steps.sweep_request(fresh, stage, feature, dial, rig))
        if (over := await told_by(bench, known, stage, feature)) is not None:
            return over
    return None


async def _set_up(bench: Bench, known: Snapshot, feature: str, dial: Source, rig: Rigging) -> SetUp | None:
    """The page before a sweep. Which way the crank is turned is known by the job, else by this machine."""
    kept = bench.memory.get("turn")
    called = steps.is_called_out(rig, dial)
    turn = steps.turn_of(known, called=called) or ("cw" if kept == "cw" else "ccw" if kept == "ccw" else None)
    asked = SettingUp(
        known.title, feature, dial,
        polarity=rig.setup.get("polarity", 1),
        turn=turn,
        asks=called,
        before=steps.tip_stood_on(known),
    )  # fmt: skip
    return await bench.app.push_screen_wait(SetUpScreen(asked))


async def told_by(bench: Bench, known: Snapshot, stage: str, feature: str) -> SweepRun | None:
    """The sweep of two numbers, over already; None where nobody says them. Raises UsageError."""

    async def swept(text: str) -> SweepRun:
        numbers = TwoNumbers(*parse_swing(text))
        request = steps.sweep_request(look(known.job), stage, feature, Source("", load(TYPED)))
        return await told(request, numbers)

    return await understood(bench.app, ASK_NUMBERS, swept)


async def _resumed(bench: Bench, path: Path) -> SweepRun | None:
    """A sweep that goes on; its recording says everything but the port."""
    typed = replay(path).profile.name == TYPED
    dial = None if typed else await need_dial(bench)
    if dial is None and not typed:
        return None
    run, needed, profile = resume(path)
    if dial is None:
        return run
    sources = {INDICATOR: Source(dial.url, profile)}
    if needed == [INDICATOR, ENCODER] and (encoder := encoder_again(bench, run)) is not None:
        sources[ENCODER] = encoder
    if needed != list(sources):
        run.session.writer.close()
        raise UsageError(f"{path} needs more than one port: 'coaxly sweep --resume' takes them")
    run.sources = sources
    return run
