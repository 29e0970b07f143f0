"""What there is to see of a running sweep, at one moment: immutable, so that nothing flickers."""

from dataclasses import dataclass
from typing import Any

from fitter.meaning import Meaning
from fitter.reading.stations import Stations
from fitter.stream import Estimate

from .line import LinkState
from .pipeline import Pipeline


@dataclass(frozen=True, slots=True)
class View:
    """reading: newest, mm, as it counts (corrected); None before the first.

    trace: the last seconds, (t, mm); band: within which the dial is steady, mm.

    steady: still for a dwell, and the line is there to say so. link: of all lines together. lost: names of
    the ports that are lost. prompt: what to do now. message: what just happened, or "". planned: stations
    read and due together, 0 where none are stopped at. sealed: once finished, whether the file is.
    """

    title: str
    reading: float | None
    steady: bool
    link: LinkState
    lost: tuple[str, ...]
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
    sealed: bool

    @classmethod
    def of(cls, pipeline: Pipeline, **now: Any) -> "View":
        """With what the pipeline knows filled in; now: every other field."""
        setup = pipeline.setup
        return cls(
            stations=pipeline.fitter.stations(),
            estimate=pipeline.fitter.estimate(),
            limit=setup.limit_mm,
            inside=Meaning.of(setup).sign < 0.0,
            band=setup.steady_mm,
            faults=pipeline.fault_count,
            samples=pipeline.fitter.samples,
            **now,
        )
