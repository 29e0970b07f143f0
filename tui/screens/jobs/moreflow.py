"""What else can be done to a job, beside its next step."""

from collections.abc import Awaitable, Callable
from functools import partial
from typing import Final

from ...job.folder.journal import Closed, Note, now
from ...job.folder.shop import Job
from ...job.folder.snapshot import look
from ...job.steps.jobsteps import dowels_in, put_in
from ...say.job.jobwords import UNPROVED
from ..bench import Bench
from ..small.askscreens import AskScreen, QuestionScreen
from .jobflow import choose, hand_over, look_at, prove, show_setting, sweep, two_numbers
from .newjobscreen import change_job
from .nudgeflow import nudge

_FITTED: Final = (
    "What is in now, seen from behind? 7thou@130 for both, 7thou@130,5thou@120 for two, "
    "none for straight ones."
)


async def more(bench: Bench, job: Job) -> str:
    """Ask which, and do it. Returns what is to be said."""
    answers = [(key, key, words) for key, (words, _) in _DOINGS.items()]
    wanted = await bench.app.push_screen_wait(QuestionScreen(f"{look(job).title}: what else?", answers))
    return await _DOINGS[wanted][1](bench, job) if wanted in _DOINGS else ""


async def _fitted(bench: Bench, job: Job) -> str:
    if text := await bench.app.push_screen_wait(AskScreen(_FITTED)):
        job.note(put_in(look(job), dowels_in(text)))
    return ""


async def _note(bench: Bench, job: Job) -> str:
    if text := await bench.app.push_screen_wait(AskScreen(f"Note about {look(job).title}:")):
        job.note(Note(time=now(), text=text))
    return ""


async def _close(bench: Bench, job: Job) -> str:
    job.note(Closed(time=now()))
    known = look(job)
    unproved = f" But {UNPROVED}." if known.state.unproved else ""
    return f"{known.title} is closed.{unproved} A new sweep opens it again."


_Doing = tuple[str, Callable[[Bench, Job], Awaitable[str]]]

_DOINGS: Final[dict[str, _Doing]] = {
    "a": ("all that is known of it", look_at),
    "d": ("how the dowels are set", show_setting),
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
