"""What there is to see of a running sweep, at one moment: immutable, so that nothing flickers."""

from collections import deque
from dataclasses import dataclass
from typing import Any, Final

from coaxly.fitter import Setup
from coaxly.fitter.analysis import Outlook
from coaxly.fitter.geometry import InternalDeg
from coaxly.fitter.meaning import Meaning
from coaxly.fitter.reading.corrections import readings as corrected
from coaxly.fitter.reading.stations import Stations
from coaxly.fitter.stream import Estimate
from coaxly.fitter.units import to_mm
from coaxly.logger.readings import Readings

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


SECONDS: Final = 6.0
_APART_S: Final = 0.04


class Tracing:
    """Remembers readings in mm, as they count."""

    def __init__(self, setup: Setup) -> None:
        self._setup = setup
        self._points: deque[tuple[float, float]] = deque()
        self.newest: float | None = None

    def add(self, block: Readings) -> None:
        """A block of readings; only its last is drawn."""
        self.newest = float(corrected(self._setup, block.value[-1:] * to_mm(1.0, block.unit))[0])
        t = float(block.t[-1])
        if not self._points or t - self._points[-1][0] >= _APART_S:
            self._points.append((t, self.newest))
            while self._points[0][0] < t - SECONDS:
                self._points.popleft()

    def points(self) -> tuple[tuple[float, float], ...]:
        """(t, mm), oldest first."""
        return tuple(self._points)
