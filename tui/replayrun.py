"""A recording played back at the pace at which it was made, for the measuring screen."""

import asyncio
import contextlib
import math
from pathlib import Path

from fitter import FitterError, Result
from fitter.corrections import readings as corrected
from fitter.units import to_mm
from logger.clock import SessionClock
from logger.reader import RecordingReader
from logger.readings import Readings
from logger.records import Record, Station, Undo

from .pipeline import Pipeline
from .view import View


class ReplayRun:
    """Feeds records as their times come; the operator of now may only watch or skip to the end."""

    def __init__(self, path: Path, speed: float) -> None:
        """Read the header. Raises LoggerError or FitterError in words."""
        self.path = path
        self.result: Result | None = None
        self._reader = RecordingReader(path)
        self.pipeline = Pipeline(self._reader.header)
        self.pipeline.heard = self._reading
        self._clock = SessionClock(speed)
        self._latest: Readings | None = None
        self._hurry = asyncio.Event()
        self._finished = False
        self._message = ""

    async def play(self) -> None:
        """Feed everything, in its own time."""
        self._clock = SessionClock(self._clock.speed)
        for block in self._reader.blocks():
            for record in block:
                t = getattr(record, "t", 0.0)
                await self._until(t)
                self._feed(record)
        with contextlib.suppress(FitterError):
            self.result = self.pipeline.result()
        self._finished = True

    async def _until(self, t: float) -> None:
        """Wait for session time `t`, unless told to hurry."""
        if (wait := self._clock.wall(t - self._clock())) > 0.0 and not self._hurry.is_set():
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self._hurry.wait(), wait)

    def _feed(self, record: Record) -> None:
        self.pipeline.feed((record,))
        if isinstance(record, Station):
            self._message = f"station at {record.deg:g} deg"
        elif isinstance(record, Undo):
            self._message = "last station undone"

    def _reading(self, block: Readings) -> None:
        self._latest = block

    def confirm(self) -> None:
        """Nothing to take in a replay: go to the end."""
        self.finish()

    def undo(self) -> None:
        """A replay cannot be changed."""
        self._message = "a replay cannot be changed"

    def finish(self) -> None:
        """Feed the rest at once."""
        self._hurry.set()

    def view(self) -> View:
        """What there is to see now."""
        setup = self.pipeline.setup
        reading = None
        if self._latest is not None:
            mm = self._latest.value[-1:] * to_mm(1.0, self._latest.unit)
            reading = float(corrected(setup, mm)[0])
        header = self.pipeline.header
        return View(
            title=f"replay: {header.job or 'sweep'}, as {header.stage or 'recorded'}",
            reading=reading,
            age_s=math.nan,
            steady=True,
            link="replay",
            port="",
            recording=self.path.name,
            stations=self.pipeline.fitter.stations(),
            planned=0,
            next_deg=None,
            waiting_for_steady=False,
            estimate=self.pipeline.fitter.estimate(),
            limit=setup.limit_mm,
            inside=setup.surface == "inside",
            prompt="replay: space skips to the end",
            message=self._message,
            faults=self.pipeline.fault_count,
            samples=self.pipeline.fitter.samples,
            finished=self._finished,
        )
