"""The face of a job on the screens: which shims, and which went in."""

from ..entry.places import parse_shims
from ..job.journal import Shimmed, now
from ..job.material import limit_of
from ..job.pipeline import replay
from ..job.planning import judged_by
from ..job.shop import Job
from ..say.findings import result_lines
from .ask import AskScreen
from .bench import Bench
from .pages import Page


async def shim(bench: Bench, job: Job) -> str:
    """What the face asks for, and what was put under it."""
    face = job.state().face
    swept = face.left or face.found
    assert swept is not None
    result = judged_by(replay(job.file(swept.file)), limit_of(job))
    lines = result_lines(result, bench.unit)
    if not await bench.app.push_screen_wait(Page(f"{job.title}: the face", lines, "say which shims went in")):
        return ""
    question = "Which shims went in, seen from behind? Such as 2thou@60,5thou@120; none if it stays."
    text = await bench.app.push_screen_wait(AskScreen(question))
    if text:
        job.note(Shimmed(time=now(), shims=parse_shims(text)))
    return ""
