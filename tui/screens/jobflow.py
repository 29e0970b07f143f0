"""A job on the screens: sweep it, choose and set dowels, sweep again, prove; tomorrow go on from there."""

from pathlib import Path
from typing import TYPE_CHECKING

from fitter import Result, Setup
from fitter.dowels.compare import Comparison, compare
from fitter.dowels.plan import Option, Workshop, advice, plan
from logger.angle import Source
from logger.records import INDICATOR

from ..entry.instruments import dial_at
from ..entry.kits import load_kits
from ..entry.lengths import show_length
from ..entry.preferences import Memory
from ..errors import UsageError
from ..job.begin import begin
from ..job.belonging import unit_in_doubt
from ..job.jobstate import JobState, load, recordings, save
from ..job.pipeline import Pipeline, replay
from ..job.planning import measured_by
from ..job.rehearsal import setting_of
from ..job.request import SweepRequest
from ..job.resume import resume, unfinished
from ..job.shows import LiveShow
from ..job.sweep import SweepRun
from ..say.answer import answer
from ..say.doubts import doubt_sentence
from ..say.findings import comparison_lines, dowels, result_lines, verdict
from ..say.warnings import sentence
from ..widgets.proofplot import ProofPlot
from ..widgets.verdict import Verdict
from .done import DoneScreen, Swept
from .live import LiveScreen
from .pages import Page
from .plan import PlanScreen
from .question import QuestionScreen
from .setting import SettingScreen
from .start import Choice

if TYPE_CHECKING:
    from .app import CoaxlyApp

HERE = Path()
_UNPROVED = (
    "  ! No sweep as found of this job is in this folder: nothing can be proved, and no dowels are advised,",
    "    for what is fitted now is not known here. 'coaxly verify FOUND LEFT --fitted ...' compares any two.",
)


def next_step(title: str, unit: str) -> str:
    """Where a job stands, in words; "" where there is nothing to go on with. Raises UsageError."""
    option = load(title, HERE).option if title else None
    if option is None:
        return ""
    chosen = f"{dowels(option, unit)} seen from behind"
    return f"{title}: fit {chosen}, then sweep as left. F6 shows how they are set."


def dowels_in(option: Option, unit: str) -> str:
    """What comes after the dowels are in and locked."""
    return f"Dowels in: {dowels(option, unit)} seen from behind. Now sweep as left (F2). F6 shows them."


async def sweep_job(app: "CoaxlyApp", memory: Memory, choice: Choice) -> str:
    """Sweep, then plan or proof. Returns what to say on the start screen."""
    kit = load_kits(choice.kit)
    state = load(choice.job, HERE)
    begun = await _begin(app, choice)
    if begun is None:
        return ""
    run, show = begun
    screen = LiveScreen(show, run, go_on_after=0.0)  # the finding has a page of its own
    await app.push_screen_wait(screen)
    name = run.session.writer.path.name
    if screen.failure is not None:
        run.discard_if_empty()
        return f"! {screen.failure}"
    if run.result is None:
        return f"Kept as far as it went: {name}. F2 goes on with it."
    then = "back" if choice.feature != "bore" else "choose dowels" if choice.stage != "left" else "proof"
    wanted = await app.push_screen_wait(DoneScreen(Swept(choice.job, choice.stage, run.result, then=then)))
    if wanted == "again":
        return await sweep_job(app, memory, choice)
    if wanted != "on":
        return f"Recording: {name}"
    if choice.feature != "bore":
        await app.push_screen_wait(Page("The face", result_lines(run.result, app.unit), "back"))
    elif choice.stage != "left":
        return await choose_dowels(app, memory, JobState(choice.job, name), run.pipeline, Workshop(kit))
    elif not state.found:
        lines = [*result_lines(run.result, app.unit), "", *_UNPROVED]
        await app.push_screen_wait(Page("As left", lines, "back"))
    else:
        return await _prove(app, memory, state, run.result, Workshop(kit))
    return f"Recording: {name}"


async def _begin(app: "CoaxlyApp", choice: Choice) -> tuple[SweepRun, LiveShow] | None:
    """A new sweep, or one that was left off and is gone on with; None to leave it."""
    stage, feature = choice.stage, choice.feature
    old = next((path for path in recordings(choice.job, stage, feature, HERE) if unfinished(path)), None)
    if old is not None:
        answers = [("g", "on", "go on with it"), ("n", "new", "begin a new one; the old one is kept")]
        question = f"A sweep of this job was broken off: {old.name}."
        wanted = await app.push_screen_wait(QuestionScreen(question, answers))
        if not wanted:
            return None
        if wanted == "on":
            return _go_on(old, choice)
    dial = dial_at(choice.port, choice.profile, choice.dial_unit)
    setup = Setup.from_header({}, feature)
    run, sources = begin(SweepRequest(dial=dial, setup=setup, job=choice.job, stage=stage))
    return run, LiveShow(run, sources)


def _go_on(path: Path, choice: Choice) -> tuple[SweepRun, LiveShow]:
    run, needed, profile = resume(path)
    if needed != [INDICATOR]:
        run.session.writer.close()
        raise UsageError(f"{path} needs more than one port: 'coaxly sweep --resume' takes them")
    return run, LiveShow(run, {INDICATOR: Source(choice.port, profile)})


async def choose_dowels(
    app: "CoaxlyApp", memory: Memory, state: JobState, found: Pipeline, workshop: Workshop
) -> str:
    """Which dowels go in, seen from the housing as found: those that are in come out."""
    result = found.result()
    if doubts := unit_in_doubt(state.found, result):
        return f"! {doubt_sentence(doubts[0], app.unit)}, then sweep again"
    measured = measured_by(found, result)
    options = plan(measured, workshop)
    save(state, HERE)
    while True:
        screen = PlanScreen(options, workshop.pins, advice(measured, workshop, options))
        option = await app.push_screen_wait(screen)
        if option is None or not option.dowels:
            return f"Recording: {state.found}"
        save(JobState(state.title, state.found, option.to_dict()), HERE)
        memory.keep(stage="left")
        answer = await app.push_screen_wait(SettingScreen(state.title, option, workshop.pins))
        if answer == "in":
            return dowels_in(option, app.unit)
        if answer != "again":
            return f"Fit the dowels, then sweep as left. F6 shows them. Recording: {state.found}"


async def _prove(app: "CoaxlyApp", memory: Memory, state: JobState, left: Result, workshop: Workshop) -> str:
    """Against the housing as found and the dowels that are in it now, however often they were changed."""
    before = replay(HERE / state.found)
    found, option = before.result(), state.option
    setting = setting_of(option) if option is not None else None
    comparison = compare(found.eccentricity, left.eccentricity, setting, None, workshop.kit)
    loud = [f"! {sentence(remark, app.unit)}" for remark in left.remarks if remark.level == "warning"]
    lines = [*comparison_lines(comparison, app.unit, left), "", f"  VERDICT: {verdict(left, app.unit)}"]
    lines += [f"  {line}" for line in loud]
    # What is to be done is what somebody at the engine looks for.
    lines.sort(key=lambda line: not line.startswith("  What to do:"))
    picture, head = proof(app, found, left, comparison), head_of(app, found, left)
    title = "Proof: planned against measured"
    inside = left.decision.state == "inside"
    on = "back" if inside else "choose other dowels"
    if await app.push_screen_wait(Page(title, lines, on, picture=picture, head=head)) and not inside:
        return await choose_dowels(app, memory, state, before, workshop)
    return "\n".join([f"{state.title}: {verdict(left, app.unit)}", *loud])


def proof(app: "CoaxlyApp", found: Result, left: Result, comparison: Comparison) -> ProofPlot:
    """Before, planned and now, in one picture."""
    x, y = found.eccentricity.vector
    planned = None
    if comparison.planned is not None:
        planned = (x + comparison.planned.vector[0], y + comparison.planned.vector[1])
    return ProofPlot(app.glyphs, left.decision.limit / 2.0, (x, y), planned, left.eccentricity.vector)


def head_of(app: "CoaxlyApp", found: Result, left: Result) -> Verdict:
    """The verdict, large, and what it was before."""
    before = f"before: {show_length(found.tir.fitted, app.unit)}"
    return Verdict(app.glyphs, answer(left, app.unit, before))
