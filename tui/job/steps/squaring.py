"""The face of a housing: is it square, and which shims make it so? Of a job, or of a recording alone."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from coaxly.fitter import Result
from coaxly.fitter.analysis import corrected
from coaxly.fitter.face import Mounting, Squareness, squareness
from coaxly.fitter.geometry import Vector
from coaxly.fitter.pilot import AtPilot, at_pilot
from coaxly.fitter.result import Eccentricity

from ..folder.material import value_of
from ..folder.snapshot import Snapshot
from ..folder.sworn import Ruling
from ..recorded.consistency import Doubt, in_doubt, need, one_job, tampered
from ..recorded.pipeline import Pipeline, judged_by, replay
from .choosing import limit_in
from .jobsteps import face_radius_of
from .noting import not_noted
from .wishes import FaceWish


@dataclass(frozen=True, slots=True)
class Squared:
    """A sweep of a face, and what it asks for.

    wish: what was said, and what the recording and the job say of the rest.
    at: where bore and face lead the gearbox's shaft, where both were swept.
    unplaced: whether the job knows the bolts, but nobody the radius: places are stations until then.
    """

    wish: FaceWish
    pipeline: Pipeline
    result: Result
    found: Squareness
    at: AtPilot | None
    ruling: Ruling
    doubts: list[Doubt]
    unplaced: bool


def squared(path: Path, wish: FaceWish, known: Snapshot | None = None, what: str = "plan") -> Squared:
    """What a sweep of a face says. known: its job. what: it is wanted for, in a refusal. Raises LoggerError,
    FitterError or UsageError."""
    pipeline = replay(path, wish.given)
    need(pipeline, str(path), "face", what)
    ruled = limit_in(known, wish.limit)
    result = judged_by(pipeline, ruled.limit)
    doubts = [*tampered(str(path)), *in_doubt(str(path), result)]
    wish = replace(wish, radius=wish.radius or pipeline.setup.face_radius_mm)
    bolts = None
    if known is not None:
        doubts = [*not_noted(known, known.sweeps.get(path.name)), *doubts]
        bolts = value_of(known, "bolts")
        wish = _within(wish, known, bolts)
    bore, at = (0.0, 0.0), None
    if wish.bore is not None:
        swept, more = _bore(wish.bore, (str(path), pipeline))
        doubts, bore = doubts + more, swept.vector
        if wish.pilot is not None and wish.radius:
            at = at_pilot(swept, result.eccentricity, wish.radius, wish.pilot, play=wish.clearance or 0.0)
    mounting = Mounting(wish.bolts or (), wish.stock or (), wish.depth, wish.pilot, bore)
    found = squareness(result, corrected(pipeline.setup, pipeline.fitter.stations()), wish.radius, mounting)
    unplaced = bool(bolts) and wish.bolts is None
    return Squared(wish, pipeline, result, found, at, ruled, doubts, unplaced)


def _within(wish: FaceWish, known: Snapshot, bolts: Sequence[Vector] | None) -> FaceWish:
    """With what the job says of the rest. Raises UsageError."""
    radius = wish.radius or face_radius_of(known)
    clearance = wish.clearance
    if clearance is None and wish.bore is not None:
        clearance = value_of(known, "register_clearance")
    return replace(
        wish,
        radius=radius,
        bolts=wish.bolts if wish.bolts is not None or not radius else bolts,
        stock=value_of(known, "shims") if wish.stock is None else wish.stock,
        depth=value_of(known, "depth") if wish.depth is None else wish.depth,
        pilot=value_of(known, "pilot") if wish.pilot is None else wish.pilot,
        clearance=clearance,
    )


def _bore(path: Path, face: tuple[str, Pipeline]) -> tuple[Eccentricity, list[Doubt]]:
    """Where the bore stands, by its own recording, and what speaks against taking the two together."""
    other = replay(path)
    need(other, str(path), "bore", "--bore")
    result, name = other.result(), str(path)
    return result.eccentricity, [*tampered(name), *one_job([face, (name, other)]), *in_doubt(name, result)]
