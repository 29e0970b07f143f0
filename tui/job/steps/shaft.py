"""How the gearbox of a job lies to its crank: its newest bore, face and pilot bore taken together."""

from pathlib import Path

from coaxly.fitter import Result
from coaxly.fitter.pilot import AtPilot, Lie, at_pilot

from ..folder.journal import Sweep
from ..folder.material import length_of
from ..folder.shop import Job
from ..recorded.pipeline import Pipeline, replay
from .jobsteps import face_radius_of


def lie_of_job(job: Job) -> AtPilot | None:
    """Where the gearbox's axis passes the pilot bearing; None where the way there (`pilot` in job.toml), the
    bore, the face, or the radius at which its dial ran is not known.

    Raises UsageError, LoggerError or FitterError.
    """
    pilot, now = length_of(job, "pilot"), job.state()
    face = now.face.left or now.face.found
    if pilot is None or now.last is None or face is None:
        return None
    swept, tilted = _result(job, face)
    radius = face_radius_of(job, swept.setup)
    if radius is None:
        return None
    carried = next((part for part in now.parts if part.feature == "pilot"), None)
    return at_pilot(
        _result(job, now.last)[1].eccentricity,
        tilted.eccentricity,
        Lie(
            radius,
            pilot,
            length_of(job, "register_clearance") or 0.0,
            None if carried is None else _result(job, carried)[1].eccentricity.amount,
        ),
    )


def _result(job: Job, sweep: Sweep) -> tuple[Pipeline, Result]:
    pipeline = replay(Path(job.file(sweep.file)))
    return pipeline, pipeline.result()
