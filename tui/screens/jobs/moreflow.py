"""What else can be done to a job, beside its next step."""

from collections.abc import Awaitable, Callable
from functools import partial
from typing import Final

from ...job.folder.journal import Closed, Dowels, Note, Nudged, now
from ...job.folder.shop import Job
from ...job.folder.snapshot import look, still
from ...job.steps.jobsteps import dowels_in, hangs_on_it, odd_about, put_in, rig_of
from ...job.steps.nudgerun import NudgeRun, note_nudge, request_in, to_tap
from ...say.job.jobwords import UNPROVED, odd_words
from ...say.smallwords import shortened
from ...say.sweep.doubts import doubt_sentence
from ..base import Bench
from ..dial.dialflow import need_dial
from ..small.askscreens import AskScreen, QuestionScreen, understood
from ..small.cautionsscreen import CautionsScreen
from ..sweeping.nudgescreen import NudgeScreen
from .jobflow import choose, hand_over, look_at, prove, set_dowels, sweep, two_numbers
from .newjobscreen import change_job

_FITTED: Final = (
    "What is in now, seen from behind? 7thou@130 for both, 7thou@130,5thou@120 for two, "
    "none for straight ones."
)


_SINCE: Final = [
    ("y", "slip", "yes, what was said before was a slip: the sweep counts"),
    ("n", "since", "no, they went in since: it is left out, sweep again"),
]


async def more(bench: Bench, job: Job) -> str:
    """Ask which, and do it. Returns what is to be said."""
    answers = [(key, key, words) for key, (words, _) in _DOINGS.items()]
    wanted = await bench.app.push_screen_wait(
        QuestionScreen(f"{shortened(look(job).title)}: what else?", answers)
    )
    return await _DOINGS[wanted][1](bench, job) if wanted in _DOINGS else ""


async def _fitted(bench: Bench, job: Job) -> str:
    known, since = look(job), "since"
    if (dowels := await understood(bench.app, _FITTED, _dowels)) is None:
        return ""
    if (swept := hangs_on_it(known)) is not None:
        question = f"Were these in already when {swept.file} was swept?"
        if not (since := await bench.app.push_screen_wait(QuestionScreen(question, _SINCE))):
            return ""
    job.note(put_in(still(known), dowels, slip=since == "slip"))
    return "\n".join(odd_words(odd_about(known, dowels), bench.unit))


async def _dowels(text: str) -> Dowels:
    return dowels_in(text)


async def _note(bench: Bench, job: Job) -> str:
    if text := await bench.app.push_screen_wait(AskScreen(f"Note about {shortened(look(job).title)}:")):
        job.note(Note(time=now(), text=text))
    return ""


async def _close(bench: Bench, job: Job) -> str:
    job.note(Closed(time=now()))
    known = look(job)
    unproved = f" But {UNPROVED}." if known.state.unproved else ""
    return f"{known.title} is closed.{unproved} A new sweep opens it again."


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


_Doing = tuple[str, Callable[[Bench, Job], Awaitable[str]]]

_DOINGS: Final[dict[str, _Doing]] = {
    "a": ("all that is known of it", look_at),
    "d": ("how the dowels are set", set_dowels),
    "f": ("sweep as found, once more", partial(sweep, stage="found", feature="bore")),
    "l": ("sweep as left, once more", partial(sweep, stage="left", feature="bore")),
    "w": ("two numbers of a plain dial, in place of a sweep", two_numbers),
    "p": ("choose dowels all the same", choose),
    "v": ("compare and prove it all the same", prove),
    "i": ("say which dowels are in", _fitted),
    "e": ("change its limit, kit, holes, rig", change_job),
    "r": ("report it as it stands", hand_over),
    "t": ("tap it into place: no dowels in", nudge),
    "n": ("note a few words", _note),
    "c": ("close it: nothing more is to be done", _close),
}
