"""The sweep of a job before the one that is due: what its recording tells of where the tip stood, and of the
way in which the crank was turned.
"""

from typing import Final

from coaxly.fitter.clues.before import Before, before_of
from coaxly.fitter.withheld import doubted

from ...errors import RUN_ERRORS
from ..folder.journal import Fitted, Nudged, Shimmed, Sweep
from ..folder.snapshot import Snapshot
from ..recorded.pipeline import replay

_DONE: Final = (Fitted, Nudged, Shimmed)
"""What is done to a housing: readings before it are no readings after it."""


def last_swept(known: Snapshot) -> Sweep | None:
    """The sweep that was noted last, None for none."""
    return next((each for each in reversed(known.records) if isinstance(each, Sweep)), None)


def sweep_before(known: Snapshot) -> Before | None:
    """What the last sweep read, with nothing done to the housing since; None where there is no such, or its
    recording cannot be read."""
    relevant = [each for each in known.records if isinstance(each, (Sweep, *_DONE))]
    if not relevant or not isinstance(last := relevant[-1], Sweep):
        return None
    return _read(known, last)


def earlier_of(known: Snapshot, feature: str) -> Before | None:
    """What the last sweep read that did measure this surface, whatever was done since; None for none."""
    swept = (each for each in reversed(known.records) if isinstance(each, Sweep) and each.feature == feature)
    return next(filter(None, (_read(known, each, sound=True) for each in swept)), None)


def _read(known: Snapshot, sweep: Sweep, *, sound: bool = False) -> Before | None:
    """What a recording holds; None where it cannot be read, and where it is to be `sound` and is in doubt."""
    try:
        pipeline = replay(known.file(sweep.file))
        if sound and doubted(pipeline.result()):
            return None
    except RUN_ERRORS:
        return None  # whoever needs it says so
    return before_of(sweep.file, pipeline.setup, pipeline.fitter.stations())
