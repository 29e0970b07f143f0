"""A job on the screens: the step that is due by its journal, and what is noted of it. Whoever opens the job
tomorrow goes on here; nothing of it is kept in memory.
"""

from pathlib import Path

from coaxly.fitter import Result
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.geometry import difference

from ...entry.places import parse_shims
from ...job.folder.journal import Chosen, Shimmed, now
from ...job.folder.material import value_of
from ...job.folder.shop import Job
from ...job.folder.snapshot import Snapshot, look, still
from ...job.steps import jobsteps as steps
from ...job.steps.choosing import basis, option_of, take
from ...job.steps.noting import catch_up
from ...job.steps.proving import note_proof, pair_of
from ...job.steps.squaring import squared
from ...job.steps.wishes import FaceWish, Wish
from ...say.dowels.optiontable import Offer
from ...say.job.amiss import stranger_sentence
from ...say.job.jobwords import dowels_in_words, job_lines
from ...say.job.listwords import due
from ...say.job.proofwords import IN_DOUBT
from ...say.sweep.doubts import doubt_sentence
from ..base import Bench
from ..dial.dialflow import bare_unit
from ..small.askscreens import QuestionScreen, understood
from ..small.cautionsscreen import CautionsScreen
from ..sweeping.donescreen import DoneScreen, Swept
from ..sweeping.typedscreen import live_screen
from .beginflow import begin_sweep, told_by
from .facescreen import Face, FaceScreen
from .pages import Page
from .planscreen import PlanScreen
from .proofscreen import ProofScreen, Proven
from .reportscreen import ReportScreen
from .settingscreen import SettingScreen


async def go_on(bench: Bench, job: Job) -> str:
    """Do the step that is due. Returns what is to be said of it, "" where the next step says it all."""
    state = catch_up(look(job)).known.state
    face = state.feature == "face"
    match state.next:
        case "sweep found" | "sweep left":
            return await sweep(bench, job, state.next.removeprefix("sweep "), state.feature)
        case "fit" | "again" if face:
            again = await shim(bench, job)
            stage = "left" if state.face.shimmed is not None else "found"
            return await sweep(bench, job, stage, "face") if again else ""
        case "choose":
            return await choose(bench, job)
        case "fit":
            return await set_dowels(bench, job)
        case "verify" | "again":
            return await prove(bench, job)
        case "report":
            return await hand_over(bench, job)
        case _:
            return await look_at(bench, job)


async def look_at(bench: Bench, job: Job) -> str:
    """All that is known of a job."""
    caught = catch_up(look(job))
    known = caught.known
    strange = [f"  ! {stranger_sentence(each, known)}" for each in caught.strangers]
    await bench.app.push_screen_wait(
        Page("All that is known of it", [*job_lines(known, bench.unit), *strange])
    )
    return ""


async def sweep(bench: Bench, job: Job, stage: str, feature: str) -> str:
    """Sweep; then dowels are chosen, or the proof is looked at, without another key. Raises UsageError for a
    sweep that would be taken for another."""
    known = look(job)
    steps.in_order(known, stage, feature)
    # What is wrong in job.toml is said now, not after a sweep.
    steps.setup_of(known, feature)
    if feature == "bore":
        wish_of(bench).within(known).need_kit(known)
    if not await _cautioned(bench, known):
        return ""
    run = await begin_sweep(bench, known, stage, feature)
    if run is None:
        return ""
    # A disk that is full ends it before there is anything to show.
    failure = str(run.failure) if run.failure is not None else None
    if not run.finished.is_set():
        # The finding has a page of its own.
        screen = live_screen(run, go_on_after=0.0, bare=bare_unit(bench))
        await bench.app.push_screen_wait(screen)
        failure = screen.failure or failure
    run.discard_if_empty()
    # What failed after the result was written is finished all the same.
    noted = steps.note_sweep(job, run)
    if failure is not None:
        return f"! {failure}"
    if not noted:
        path = run.session.writer.path
        return f"Kept as far as it went: {path.name}. Enter goes on with it." if path.exists() else ""
    assert run.result is not None
    return await _done(bench, job, run.session.writer.path, run.result, (stage, feature))


async def two_numbers(bench: Bench, job: Job) -> str:
    """The sweep that is due, from two numbers of a plain dial. Raises UsageError."""
    known = catch_up(look(job)).known
    of = "left" if known.state.fitted is not None or known.state.nudged is not None else "found", "bore"
    steps.in_order(known, *of)
    run = await told_by(bench, known, *of)
    if run is None or not steps.note_sweep(job, run) or run.result is None:
        return ""
    return await _done(bench, job, run.session.writer.path, run.result, of)


async def _done(bench: Bench, job: Job, path: Path, result: Result, of: tuple[str, str]) -> str:
    """The finding of a sweep, and what is wanted next. of: its stage and feature."""
    known, (stage, feature) = look(job), of
    state = known.state
    then = due(state.next, state.feature)
    done = DoneScreen(Swept(known.title, stage, result, then=then, report=True, leave="jobs"))
    wanted = await bench.app.push_screen_wait(done)
    if wanted == "report":
        return await hand_over(bench, job)
    if wanted == "again":
        return await sweep(bench, job, stage, feature)
    if wanted == "sure":
        vouched = job.free_recording(stage, feature)
        result = steps.note_vouched(job, path, vouched)
        return await _done(bench, job, vouched, result, of)
    return await go_on(bench, job) if wanted == "on" and not state.next.startswith("sweep") else ""


async def _cautioned(bench: Bench, known: Snapshot) -> bool:
    """Whether what can hurt at the crank was read: before the first sweep of each job."""
    if known.sweeps or known.recordings:
        return True
    page_ = CautionsScreen("sweep")
    return await bench.app.push_screen_wait(page_)


def wish_of(bench: Bench) -> Wish:
    """What is said on the screens beside the job: nothing but the user's usual kit."""
    return Wish(usual_kit=bench.kit, taking=True)


async def choose(bench: Bench, job: Job) -> str:
    """Which dowels go in, seen from the housing without those that are in."""
    known = look(job)
    found = basis(known, wish_of(bench))
    for doubt in found.doubts:
        said = doubt_sentence(doubt, bench.unit)
        if doubt.kind == "unit":
            return f"! {said}, then sweep again (J)"
        return f"! {said}"
    result, kit = found.result, found.workshop.kit
    inside = DowelSetting.of(known.state.fitted.dowels) if known.state.fitted is not None else None
    offer = Offer(known.title, result.tir.fitted, result.decision.limit, kit, inside)
    page_ = PlanScreen(found.options, found.workshop.pins, found.advice, offer=offer)
    option = await bench.app.push_screen_wait(page_)
    if option is None:
        return ""
    still(known)
    take(found, next(k for k, each in enumerate(found.options, 1) if each is option))
    known = look(job)
    if known.state.next != "fit":
        return ""
    # Once a job: what can hurt when dowels are drawn and driven.
    if sum(isinstance(record, Chosen) for record in known.records) == 1:
        await bench.app.push_screen_wait(CautionsScreen("dowels"))
    return await set_dowels(bench, job)


async def set_dowels(bench: Bench, job: Job) -> str:
    """How the dowels that were chosen last are set, as often as anybody wants to see it, also once they are
    in."""
    known = look(job)
    taken = [record for record in known.records if isinstance(record, Chosen)]
    option = option_of(taken[-1]) if taken else None
    due = known.state.chosen
    if option is not None and option.dowels:
        page_ = SettingScreen(known.title, option, value_of(known, "dowels"))
        wanted = str(await bench.app.push_screen_wait(page_))
    elif due is not None:
        answers = [("l", "in", "they are in and locked"), ("p", "again", "choose others")]
        question = f"{known.title}: fit {dowels_in_words(due.dowels, bench.unit)}, seen from behind."
        wanted = await bench.app.push_screen_wait(QuestionScreen(question, answers))
    else:
        return f"{known.title}: no dowels were chosen yet."
    if wanted == "in" and due is not None:
        job.note(steps.put_in(still(known), due.dowels))
    return await choose(bench, job) if wanted == "again" else ""


async def prove(bench: Bench, job: Job) -> str:
    """Against the housing as found and what is in it now, however often it was changed."""
    known = look(job)
    pair = pair_of(known, wish_of(bench), "the proof")
    doubts = tuple(doubt_sentence(doubt, bench.unit) for doubt in pair.doubts)
    if pair.unmeasured:
        return "\n".join(f"! {line}" for line in (*doubts, IN_DOUBT))
    note_proof(pair)
    proven = Proven(known.title, pair.found, pair.left, pair.comparison, doubts, report=True, leave="jobs")
    wanted = await bench.app.push_screen_wait(ProofScreen(proven))
    if wanted == "report":
        return await hand_over(bench, job)
    if wanted == "choose":
        return await choose(bench, job)
    return await sweep(bench, job, "left", "bore") if wanted == "again" else ""


async def hand_over(bench: Bench, job: Job) -> str:
    """Write the report of a job and say where. Returns what is to be said at the jobs. Raises UsageError or
    Failure."""
    # Templates and plots are for who writes a report only.
    from ...report.write import make_report

    known = look(job)
    made = make_report(known, bench.unit)
    if await bench.app.push_screen_wait(ReportScreen(known.title, made.path)) == "pdf":
        made = make_report(look(job), bench.unit, made.path.with_suffix(".pdf"))
        await bench.app.push_screen_wait(ReportScreen(known.title, made.path))
    return ""


_WHICH = "Which shims are in now, seen from behind? Such as 2thou@60,5thou@120, or none."
_SAME_DEG = 1.0
"""Directions this close are one place."""

Shims = tuple[tuple[float, float], ...]


async def shim(bench: Bench, job: Job) -> bool:
    """What the face asks for, and what was put under it. Returns whether it is to be swept again."""
    known = look(job)
    face = known.state.face
    swept = face.left or face.found
    assert swept is not None
    seen = squared(known.recording_of(swept), FaceWish(), known)
    found = seen.found
    old = face.shimmed.shims if face.left is not None and face.shimmed is not None else ()
    face_of_job = Face(known.title, seen.result, found, besides=bool(old), leave="jobs")
    while True:
        match await bench.app.push_screen_wait(FaceScreen(face_of_job)):
            case "in":
                fresh = tuple((each.deg, each.thickness) for each in found.shims if each.thickness > 0.0)
                note_shims(known, together(old, fresh))
            case "none":
                note_shims(known, ())
            case "others":
                shims = await understood(bench.app, _WHICH, _shims)
                if shims is None:
                    continue  # the question alone is closed
                note_shims(known, shims)
            case "again":
                return True
        return False


def note_shims(known: Snapshot, shims: Shims) -> None:
    """What is under it now. Raises UsageError where that was decided by what is no more."""
    still(known).job.note(Shimmed(time=now(), shims=shims))


async def _shims(text: str) -> Shims:
    return parse_shims(text)


def together(old: Shims, fresh: Shims) -> Shims:
    """What lies under each place, direction (degrees) and thickness (mm), when shims go in besides others."""
    under = dict(old)
    for deg, size in fresh:
        same = next((at for at in under if abs(difference(at, deg)) < _SAME_DEG), deg)
        under[same] = under.get(same, 0.0) + size
    return tuple(sorted(under.items()))
