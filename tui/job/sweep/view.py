"""What there is to see of a running sweep, at one moment: immutable, so that nothing flickers."""

from dataclasses import dataclass
from typing import Any

from coaxly.fitter.analysis import Outlook
from coaxly.fitter.geometry import InternalDeg
from coaxly.fitter.meaning import Meaning
from coaxly.fitter.reading.stations import Stations
from coaxly.fitter.stream import Estimate

from ..recorded.pipeline import Pipeline
from .linestate import LinkState
from .news import News, Task


@dataclass(frozen=True, slots=True)
class View:
    """A moment of a sweep, or of a replay of one."""

    title: str
    reading: float | None
    """The newest, mm, as it counts (corrected); None before the first."""
    steady: bool
    """Still for a dwell, and the line is there to say so."""
    link: LinkState
    """Of all lines together."""
    lost: tuple[str, ...]
    """Names of the ports that are lost."""
    recording: str
    stations: Stations
    planned: int
    """Stations read and due together, 0 where none are stopped at."""
    due: tuple[InternalDeg, ...]
    """Where the stations that are to be read are, the next one first."""
    waiting_for_steady: bool
    estimate: Estimate | None
    outlook: Outlook | None
    """How sure it is by now, and with each station that is due."""
    limit: float
    """Permitted TIR, mm."""
    inside: bool
    """Readings run against the vector: the inside of a bore (not a face)."""
    trace: tuple[tuple[float, float], ...]
    """The last seconds, (t, mm)."""
    band: float
    """Within which the dial is steady, mm."""
    paused: bool
    task: Task
    """What to do now."""
    news: News | None
    """What just happened."""
    faults: int
    samples: int
    finished: bool
    sealed: bool
    """Once finished, whether the file is."""

    @classmethod
    def of(cls, pipeline: Pipeline, due: tuple[InternalDeg, ...], **now: Any) -> "View":
        """With what the pipeline knows filled in; now: every other field."""
        setup = pipeline.setup
        return cls(
            stations=pipeline.fitter.stations(),
            estimate=pipeline.fitter.estimate(),
            outlook=None if now["finished"] else pipeline.fitter.outlook(due),
            due=due,
            limit=setup.limit_mm,
            inside=Meaning.of(setup).sign < 0.0,
            band=setup.steady_mm,
            faults=pipeline.fault_count,
            samples=pipeline.fitter.samples,
            **now,
        )
