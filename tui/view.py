"""What there is to see of a running sweep, at one moment: immutable, so that nothing flickers."""

from dataclasses import dataclass

from fitter.stations import Stations
from fitter.stream import Estimate


@dataclass(frozen=True, slots=True)
class View:
    """reading: newest, mm, as it counts (corrected); None before the first.

    trace: the last seconds, (t, mm); band: within which the dial is steady, mm.

    link: "up", "lost" or "waiting". prompt: what to do now. message: what just happened, or "".
    """

    title: str
    reading: float | None
    steady: bool
    link: str
    port: str
    recording: str
    stations: Stations
    planned: int
    next_deg: float | None
    waiting_for_steady: bool
    estimate: Estimate | None
    limit: float
    inside: bool  # readings run against the vector: the inside of a bore (not a face)
    trace: tuple[tuple[float, float], ...]
    band: float
    paused: bool
    prompt: str
    message: str
    faults: int
    samples: int
    finished: bool
