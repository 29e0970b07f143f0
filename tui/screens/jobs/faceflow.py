"""The face of a job on the screens: which shims, and which went in."""

from coaxly.fitter.geometry import difference

from ...entry.places import parse_shims
from ...job.folder.journal import Shimmed, now
from ...job.folder.shop import Job
from ...job.folder.snapshot import look
from ...job.steps.squaring import squared
from ...job.steps.wishes import FaceWish
from ..bench import Bench
from ..small.askscreens import AskScreen
from .facescreen import Face, FaceScreen

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
    seen = squared(known.file(swept.file), FaceWish(), known)
    found = seen.found
    old = face.shimmed.shims if face.left is not None and face.shimmed is not None else ()
    face_of_job = Face(known.title, seen.result, found, besides=bool(old), leave="jobs")
    while True:
        match await bench.app.push_screen_wait(FaceScreen(face_of_job)):
            case "in":
                fresh = tuple((each.deg, each.thickness) for each in found.shims if each.thickness > 0.0)
                job.note(Shimmed(time=now(), shims=together(old, fresh)))
            case "none":
                job.note(Shimmed(time=now(), shims=()))
            case "others":
                text = await bench.app.push_screen_wait(AskScreen(_WHICH))
                if not text:
                    continue  # the question alone is closed
                job.note(Shimmed(time=now(), shims=parse_shims(text)))
            case "again":
                return True
        return False


def together(old: Shims, fresh: Shims) -> Shims:
    """What lies under each place, direction (degrees) and thickness (mm), when shims go in besides others."""
    under = dict(old)
    for deg, size in fresh:
        same = next((at for at in under if abs(difference(at, deg)) < _SAME_DEG), deg)
        under[same] = under.get(same, 0.0) + size
    return tuple(sorted(under.items()))
