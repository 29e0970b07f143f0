"""A sweep in progress: sources, recording, pipeline and operator, without a screen.

Both the screen and the plain-lines mode drive this one object and look at it through `view`.
"""

import asyncio
import math
from collections.abc import Callable, Sequence
from typing import Any, Final

from fitter import FitterError, Result
from fitter.geometry import clock as clock_text
from fitter.geometry import difference
from fitter.meaning import Meaning
from fitter.units import from_mm
from logger.clock import Clock
from logger.errors import LoggerError
from logger.readings import Fault, Readings
from logger.records import ENCODER, INDICATOR, Known, Raw
from logger.serialport import SerialSource
from logger.session import Session
from logger.steady import SteadyWatch
from logger.watch import SILENT_S, LineWatch
from logger.writer import RecordingWriter

from .pipeline import Pipeline
from .stationplan import Plan
from .tracing import Tracing
from .view import View

TICK_S: Final = 0.2


class SweepRun:
    """One sweep from the first byte to the sealed file."""

    def __init__(
        self,
        title: str,
        pipeline: Pipeline,
        writer: RecordingWriter,
        clock: Clock,
        plan: Plan,
        taken: Sequence[float] = (),
    ) -> None:
        """Nothing is opened yet; the writer has written its header. taken: stations that a resumed
        recording holds already, as entered."""
        self.title = title
        self.pipeline = pipeline
        pipeline.heard, pipeline.noted = self._reading, self._noted
        self.plan = plan
        self.session = Session(writer, clock, self._heard)
        self.finished = asyncio.Event()
        self.changed: Callable[[], None] = lambda: None
        self.failure: LoggerError | None = None
        self.result: Result | None = None
        unit = pipeline.profile.unit
        self._line_watch = LineWatch()
        self._encoder_stale = False
        self._watch = SteadyWatch(pipeline.setup.dwell_s, from_mm(pipeline.setup.steady_mm, unit))
        self._trace = Tracing(pipeline.setup)
        self._paused = False
        self._fresh = False
        self._left = plan.angles()
        self._history: list[list[float]] = []  # what was left before each station
        for deg in taken:
            self._tick_off(deg)
        self._pending: float | None = None
        self._link = "waiting"
        self._port = ""
        self._message = ""
        self._captured = asyncio.Event()

    @property
    def continuous(self) -> bool:
        """Whether angles come by themselves, from an encoder or on the indicator's line."""
        return self.pipeline.pairing.mode != "entered"

    async def run(self, sources: dict[str, tuple[str, Any]]) -> None:
        """Open every source (port name -> url, profile) and go on until `finish` or a failure.

        Raises LoggerError: a port that cannot be opened at the start, or a file that cannot be
        written. What was recorded by then is in the file.
        """
        tasks = [asyncio.create_task(self._source(name, *where)) for name, where in sources.items()]
        tasks.append(asyncio.create_task(self._tick()))
        tasks.append(asyncio.create_task(self._finished()))
        try:
            done, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
            for task in done:
                task.result()
            if self.failure is not None:
                raise self.failure
        finally:
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)
            self._close()

    def _tick_off(self, deg: float) -> None:
        """A station of the plan is read."""
        self._history.append(self._left.copy())
        for due in self._left:
            if abs(difference(deg, due)) < 1.0:
                self._left.remove(due)
                break

    # What the operator does -----------------------------------------------------------------

    def confirm(self, deg: float | None = None) -> None:
        """Take a station at `deg` of the scale, or the next one due, as soon as the dial is steady.

        Asked again while it is not, it takes the dial as it stands.
        """
        if self.continuous or self.finished.is_set():
            return
        if self._paused:
            self._say("paused: press P to go on")
            return
        if deg is None:
            deg = self._pending if self._pending is not None else self.next_deg
        if deg is None:
            self._say("all stations are read: finish, or undo one")
            return
        if not math.isfinite(deg):
            self._say("that is no angle")
            return
        forced = self._pending is not None
        self._pending = deg
        self._captured.clear()
        if self._watch.steady or forced:
            self._capture()
        else:
            self._say("hold still: the dial is moving")

    def undo(self) -> None:
        """Take back a station that waits for a steady dial, or else the last one read."""
        if self.finished.is_set():
            return
        if self._pending is not None:
            self._pending = None
            self._say("not taken")
            return
        before = len(self.pipeline.fitter.stations())
        if self.continuous or before == 0:
            self._say("there is nothing to undo")
            return
        self._guard(self.session.undo)
        if self._history:
            self._left = self._history.pop()
        self._say("last station undone: read it again")

    def typed(self, text: str) -> None:
        """A reading typed by hand, at the station that is due."""
        deg = self.next_deg
        if deg is None:
            self._say("all stations are read: finish, or undo one")
            return
        data = text.encode("latin-1", "replace") + b"\n"
        self._station(deg, lambda: self.session.typed(INDICATOR, data, deg))

    def retake(self) -> None:
        """Take the last station back and read it again where the crank now stands."""
        if self.continuous or not self._history or self._pending is not None:
            self._say("there is nothing to retake")
            return
        self.undo()
        self.confirm()

    def pause(self) -> None:
        """Hold the sweep while somebody is at the bell housing, or go on."""
        self._paused = not self._paused
        self.note("paused" if self._paused else "goes on")
        self._say("paused: nothing is taken" if self._paused else "goes on")

    def another_turn(self, *, back: bool = False) -> None:
        """Read all stations once more, or in the other sense."""
        if self.continuous or self.finished.is_set():
            return
        turn = self.plan.angles()
        self._left = self._left + (turn[::-1] if back else turn)
        self._say("one more turn, the other way" if back else "one more turn")

    def note(self, text: str) -> None:
        """Words to keep with the recording."""
        self._guard(lambda: self.session.note(text))

    def finish(self) -> None:
        """End the sweep: compute, record and seal."""
        if self.finished.is_set():
            return
        try:
            self.result = self.pipeline.result()
        except FitterError as error:
            self._say(str(error))
            self.result = None
        result = self.result
        self._guard(lambda: self.session.finish(result.to_dict() if result else None))
        self.finished.set()
        self.changed()

    def discard_if_empty(self) -> None:
        """Remove the recording of a sweep in which nothing was ever received."""
        if not self.pipeline.fitter.samples and self._link == "waiting":
            self.session.writer.path.unlink(missing_ok=True)

    async def captured(self) -> None:
        """Wait until the station that was asked for has been taken."""
        if self._pending is not None:
            await self._captured.wait()

    # What is to be seen -----------------------------------------------------------------------

    @property
    def next_deg(self) -> float | None:
        """The station that is due, as entered; None when all are read."""
        return self._left[0] if self._left else None

    @property
    def steady(self) -> bool:
        """Whether the dial has been still for a dwell."""
        return self._watch.steady

    def view(self) -> View:
        """Everything a screen shows, as of now."""
        setup = self.pipeline.setup
        due = self.next_deg
        return View(
            title=self.title,
            reading=self._trace.newest,
            steady=self._watch.steady,
            link=self._link_word(),
            port=self._port,
            recording=self.session.writer.path.name,
            stations=self.pipeline.fitter.stations(),
            planned=len(self._left) + len(self.pipeline.fitter.stations()),
            next_deg=None if due is None else setup.internal_deg(due),
            waiting_for_steady=self._pending is not None,
            estimate=self.pipeline.fitter.estimate(),
            limit=setup.limit_mm,
            inside=Meaning.of(setup).sign < 0.0,
            trace=self._trace.points(),
            band=setup.steady_mm,
            paused=self._paused,
            prompt=self._prompt(),
            message=self._message,
            faults=self.pipeline.fault_count,
            samples=self.pipeline.fitter.samples,
            finished=self.finished.is_set(),
        )

    def _prompt(self) -> str:
        if self.finished.is_set():
            return "sweep finished"
        if self._paused:
            return "paused: P goes on"
        if self._link == "lost":
            return "cable or instrument lost: plug it in again, the sweep goes on"
        if self.continuous:
            return "turn the crank slowly round, then finish"
        if self._pending is not None:
            return "hold still"
        due = self.next_deg
        if due is None:
            return "all stations read: finish, or undo one"
        if self.pipeline.profile.on_demand:
            return (
                f"turn to {clock_text(self.pipeline.setup.internal_deg(due))}, stop, press the dial's button"
            )
        place = clock_text(self.pipeline.setup.internal_deg(due))
        closing = self.plan.closing and len(self._left) == 1
        return f"turn back to {place} for the closing check" if closing else f"turn to {place} and stop"

    def _link_word(self) -> str:
        if self._link == "up" and self._line_watch.silent:
            return "silent"
        return "no angle" if self._link == "up" and self._encoder_stale else self._link

    # Behind the scenes ----------------------------------------------------------------------

    async def _source(self, name: str, url: str, profile: Any) -> None:
        self._port = self._port or url
        source = SerialSource(
            url,
            profile,
            on_data=lambda data: self._guard(lambda: self.session.raw(name, data)),
            on_link=lambda state: self._linked(name, state),
        )
        await source.run()

    def _linked(self, name: str, state: str) -> None:
        self._link = state
        self._guard(lambda: self.session.link(name, state))
        self._say("connected" if state == "up" else "cable or instrument lost")

    def _heard(self, record: Known) -> None:
        """The session's listener: the record is in the file, now let it count."""
        self._fresh = False
        self.pipeline.feed((record,))
        if self.continuous or not isinstance(record, Raw):
            return
        if self.pipeline.profile.on_demand:
            if self._fresh and (due := self.next_deg) is not None:
                self._station(due, lambda: self.session.station(due))
            return
        if self._pending is None and self.plan.auto and self._watch.ready and not self._paused:
            self._pending = self.next_deg
        if self._pending is not None and self._watch.steady:
            self._capture()

    def _reading(self, block: Readings) -> None:
        self._trace.add(block)
        self._fresh = True
        self._watch.readings(block)
        self._notes(self._line_watch.readings(block))

    def _capture(self) -> None:
        deg, self._pending = self._pending, None
        assert deg is not None
        self._watch.captured()
        self._station(deg, lambda: self.session.station(deg))
        self._captured.set()

    def _station(self, deg: float, record: Callable[[], None]) -> None:
        """Record a station and see whether it came to anything."""
        before = len(self.pipeline.fitter.stations())
        self._guard(record)
        if len(self.pipeline.fitter.stations()) == before:
            self._say("no reading to take: is the dial switched on and connected?")
            return
        self._tick_off(deg)
        self._say(f"station {clock_text(self.pipeline.setup.internal_deg(deg))} taken")
        value = float(self.pipeline.fitter.stations().value[-1])
        self._notes(self._line_watch.station(value, self.session.now()))

    def _notes(self, notes: list[Fault]) -> None:
        """Into the recording, and in front of the operator."""
        for note in notes:
            self._noted(note)
            self._say(note.what)

    def _check_encoder(self) -> None:
        stale = self.pipeline.pairing.encoder_behind_s > SILENT_S
        if stale and not self._encoder_stale:
            what = "the encoder is silent: readings are kept, but without an angle"
            self._notes([Fault(self.session.now(), ENCODER, what, serious=False)])
        self._encoder_stale = stale

    def _noted(self, fault: Fault) -> None:
        self._guard(lambda: self.session.fault(fault.port, fault.what))

    def _guard(self, action: Callable[[], None]) -> None:
        """Do something to the recording; if the file will not have it, end the sweep in words."""
        if self.finished.is_set():
            return
        try:
            action()
        except LoggerError as error:
            self.failure = error
            self._message = str(error)
            self.finished.set()

    def _say(self, message: str) -> None:
        self._message = message
        self.changed()

    async def _tick(self) -> None:
        while True:
            await asyncio.sleep(TICK_S)
            self._guard(self.session.tick)
            self._notes(self._line_watch.tick(self.session.now()))
            self._check_encoder()

    async def _finished(self) -> None:
        await self.finished.wait()

    def _close(self) -> None:
        """Leave a sealed file behind, whatever ended the sweep."""
        try:
            if self.failure is None:
                self.session.writer.close()
            else:
                self.session.writer.abandon()
        except LoggerError as error:
            self.failure = self.failure or error
