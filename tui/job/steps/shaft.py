"""How the gearbox of a job lies to its crank: its newest bore, face and pilot bore taken together."""

from coaxly.fitter import Result
from coaxly.fitter.pilot import AtPilot, at_pilot

from ..folder.journal import Sweep
from ..folder.material import value_of
from ..folder.snapshot import Snapshot
from ..recorded.pipeline import Pipeline, replay
from .jobsteps import face_radius_of


def lie_of_job(known: Snapshot) -> AtPilot | None:
    """Where the gearbox's axis passes the pilot bearing; None where the way there (`pilot` in job.toml), the
    bore, the face, or the radius at which its dial ran is not known.

    Raises UsageError, LoggerError or FitterError.
    """
    pilot, now = value_of(known, "pilot"), known.state
    face = now.face.left or now.face.found
    if pilot is None or now.last is None or face is None:
        return None
    swept, tilted = _result(known, face)
    radius = swept.setup.face_radius_mm or face_radius_of(known)
    if radius is None:
        return None
    carried = next((part for part in now.parts if part.feature == "pilot"), None)
    return at_pilot(
        _result(known, now.last)[1].eccentricity,
        tilted.eccentricity,
        radius,
        pilot,
        play=value_of(known, "register_clearance") or 0.0,
        carried=None if carried is None else _result(known, carried)[1].eccentricity.amount,
    )


def _result(known: Snapshot, sweep: Sweep) -> tuple[Pipeline, Result]:
    pipeline = replay(known.recording_of(sweep))
    return pipeline, pipeline.result()
