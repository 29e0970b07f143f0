"""A sweep in progress: sources, recording, pipeline and operator, without a screen.

Both the screen and the plain-lines mode drive this one object and look at it through `view`.
"""

import asyncio
import math
from collections.abc import Callable, Sequence
from typing import Any, Final

from coaxly.fitter import MODEL, FitterError, Result
from coaxly.fitter.dial import DialCheck
from coaxly.fitter.geometry import EnteredDeg
from coaxly.logger.angle.source import Source
from coaxly.logger.clock import Clock
from coaxly.logger.errors import LoggerError
from coaxly.logger.readings import Readings
from coaxly.logger.recording.records import INDICATOR, OPPOSITE, Known, Raw
from coaxly.logger.recording.writer import RecordingWriter

from ..recorded.pipeline import Pipeline
from .keeper import Intake, Keeper, discard_if_empty, noting
from .linestate import LineState, LinkState
from .news import Do, News, Task, What, Why
from .schedule import Plan, Schedule
from .stops import Stops
from .view import Tracing, View

TICK_S: Final = 0.2


class SweepRun:
    """One sweep from the first byte to the sealed file.

    Rules: a record is first written (`Keeper`), then counted (`Pipeline`), and only then may it take the
    station that the operator waits for (`Stops`). What came before a key was pressed counts before it.
    """

    def __init__(
        self,
        title: str,
        pipeline: Pipeline,
        writer: RecordingWriter,
        clock: Clock,
        schedule: Plan | Schedule,
    ) -> None:
        """Nothing is opened yet; the writer has written its header. schedule: what is still to be read."""
        self.title, self.pipeline = title, pipeline
        self.sources: dict[str, Source] = {}
        """What `play` opens, by the name of the port; nothing where readings are typed."""
        self.finding: Result | DialCheck | None = None
        self.result: Result | None = None  # the finding, unless it is of a dial
        self._resumed = isinstance(schedule, Schedule)
        self.schedule = schedule if isinstance(schedule, Schedule) else Schedule(schedule)
        self._keeper = Keeper(writer, clock, lambda record: self._intake.gathered(record))
        self.session, self.finished = self._keeper.session, self._keeper.finished
        self.say, self.note = self._keeper.say, self._keeper.note
        self._lines = LineState(pipeline.profile)
        self._stops = Stops(pipeline, self._keeper, self._lines, self.schedule)
        self.typed, self.undo, self.pause = self._stops.typed, self._stops.undo, self._stops.pause
        self.another_turn, self.captured = self._stops.another_turn, self._stops.captured
        self.continuous = self._stops.continuous  # angles come by themselves
        self._intake = Intake(self._keeper, self._linked, self._count, together=self.continuous)
        self._trace = Tracing(pipeline.setup)
        self._newest: float | None = None
        pipeline.heard, pipeline.noted = self._reading, noting(self._keeper, self._lines, pipeline)

    async def play(self) -> None:
        """Open every source and go on until `finish`, `stop` or a failure.

        Raises LoggerError: a port that cannot be opened at the start, or a file that cannot be
        written; FitterError: more than can be fitted. What was recorded by then is in the file.
        """
        self._lines.expect(*self.sources)
        tasks: list[asyncio.Task[Any]] = [
            asyncio.create_task(self._intake.source(name, source)) for name, source in self.sources.items()
        ]
        tasks.append(asyncio.create_task(self._ticking()))
        tasks.append(asyncio.create_task(self.finished.wait()))
        try:
            done, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
            for task in done:
                task.result()
        finally:
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)
            self._keeper.close()
        if self._keeper.failure is not None:
            raise self._keeper.failure

    # What the operator does -----------------------------------------------------------------

    def confirm(self, deg: float | None = None) -> None:
        """Take a station at `deg` of the scale, or the next one due: see `Stops.confirm`."""
        self._intake.take()
        self._stops.confirm(deg)

    def retake(self) -> None:
        """Take the last station back and read it again where the crank now stands."""
        self._intake.take()
        self._stops.retake()

    def finish(self) -> None:
        """End the sweep: compute, record and seal."""
        self._intake.take()
        if self._keeper.over:
            return
        try:
            finding = self.finding = self.pipeline.finding()
        except FitterError as error:
            self.say(News(What.FAILED, text=str(error)))
            self.stop()
            return
        self.result = finding if isinstance(finding, Result) else None
        self._keeper.guard(lambda: self.session.finish(finding.to_dict(), MODEL))
        self._keeper.end()

    def stop(self) -> None:
        """Leave off here: the recording is sealed, holds no result, and can be resumed."""
        if self._keeper.over:
            return
        self._keeper.guard(self.session.stop)
        self._keeper.end()

    def discard_if_empty(self) -> None:
        """Remove the recording of a sweep that never began; one that goes on stays, whatever it holds."""
        if not self._resumed:
            discard_if_empty(self.session.writer.path)

    # What is to be seen -----------------------------------------------------------------------

    def listen(self, said: Callable[[News], None]) -> None:
        """Have everything told as it happens."""
        self._keeper.said = said

    @property
    def failure(self) -> LoggerError | FitterError | None:
        """What ended the sweep, if it was not the operator."""
        return self._keeper.failure

    @property
    def next_deg(self) -> EnteredDeg | None:
        """The station that is due, as entered; None when all are read."""
        return self._stops.next_deg

    @property
    def remaining(self) -> int:
        """How many stations are due."""
        return 0 if self.continuous else len(self.schedule)

    @property
    def steady(self) -> bool:
        """Whether the dial has been still for a dwell, and can be heard."""
        return self._stops.dial.steady and self._lines.link is LinkState.UP

    @property
    def task(self) -> Task:
        """What the operator is to do now."""
        if self._keeper.over:
            return Task(Do.OVER if self.finding else Do.KEPT)
        return self._stops.task(steady=self.steady)

    def view(self) -> View:
        """Everything a screen shows, as of now; what waits is counted first."""
        self._intake.take()
        return View.of(
            self.pipeline,
            self._stops.due,
            title=self.title,
            reading=self._trace.newest,
            steady=self.steady,
            link=self._lines.link,
            lost=self._lines.lost,
            recording=self.session.writer.path.name,
            planned=0 if self.continuous else self.remaining + len(self.pipeline.fitter.stations()),
            waiting_for_steady=self._stops.capture.deg is not None,
            trace=self._trace.points(),
            paused=self._stops.paused,
            task=self.task,
            news=self._keeper.newest,
            finished=self._keeper.over,
            sealed=self._keeper.over and self.failure is None,
        )

    # Behind the scenes ----------------------------------------------------------------------

    def _linked(self, name: str, state: str) -> None:
        news = self._lines.linked(name, state, self.session.now())
        self._keeper.guard(lambda: self.session.link(name, state))
        if state != "up":
            self._stops.dial.forget()
            self._stops.give_up(Why.SEVERED)
        self.say(news)

    def _count(self, records: Sequence[Known]) -> None:
        """They are in the file, now let them count."""
        self._newest = None
        self.pipeline.feed(records)
        if not isinstance(record := records[-1], Raw):
            return
        if self._newest is not None:
            self._stops.after_reading(self._newest)
        elif record.port == OPPOSITE:
            self._stops.second_heard(record.t)
        elif record.port == INDICATOR and record.data:
            self._lines.watch.bytes(record.t, record.data)

    def _reading(self, block: Readings) -> None:
        self._trace.add(block)
        self._newest = float(block.t[-1])
        self._stops.dial.readings(block)
        self._keeper.notes(self._lines.watch.readings(block))

    def tick(self) -> None:
        """Time has passed: write what waits, and notice what does not come."""
        self._intake.take()
        self._keeper.guard(self.session.tick)
        watch = self._lines.watch
        self._keeper.notes(watch.tick(self.session.now()))
        behind = self.pipeline.pairing.encoder_behind_s
        self._keeper.notes(self._lines.encoder_behind(behind, self.session.now()))
        connecting = self._lines.link is LinkState.WAITING
        self._stops.tick(self.session.now(), math.inf if connecting else watch.patience_s)

    async def _ticking(self) -> None:
        while True:
            await asyncio.sleep(TICK_S)
            self.tick()
