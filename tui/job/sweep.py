"""A sweep in progress: sources, recording, pipeline and operator, without a screen.

Both the screen and the plain-lines mode drive this one object and look at it through `view`.
"""

import asyncio
import math
from collections.abc import Callable
from typing import Any, Final

from fitter import FitterError, Result
from fitter.geometry import clock as clock_text
from logger.angle import Source
from logger.clock import Clock
from logger.errors import LoggerError
from logger.readings import Fault, Readings
from logger.records import INDICATOR, LARGEST_DEG, OPPOSITE, Known, Raw
from logger.session import Session
from logger.steady import SteadyWatch
from logger.watch import MUTE
from logger.writer import RecordingWriter

from ..say import prompts
from .capture import Capture
from .doubts import not_taken, of_typed
from .intake import Intake
from .keeping import discard_if_empty
from .line import LineState, LinkState
from .pipeline import Pipeline
from .schedule import ONE_MORE, ONE_MORE_BACK, Plan, Schedule
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
        schedule: Schedule | None = None,
    ) -> None:
        """Nothing is opened yet; the writer has written its header. schedule: what a recording that goes on
        leaves to be read."""
        self.title = title
        self.pipeline = pipeline
        pipeline.heard, pipeline.noted = self._reading, self._noted
        self.plan = plan
        self.session = Session(writer, clock, self._heard)
        self._intake = Intake(self.session, self._guard, self._linked, self._notes)
        self.finished = asyncio.Event()
        self.said: Callable[[str], None] = lambda message: None
        self.failure: LoggerError | FitterError | None = None
        self.result: Result | None = None
        self._lines = LineState(on_demand=pipeline.profile.on_demand)
        self._line_watch = self._lines.watch
        self._watch = SteadyWatch(pipeline.setup.dwell_s, pipeline.setup.steady_mm)
        self._trace = Tracing(pipeline.setup)
        self._paused = False
        self._newest: float | None = None
        self._second = math.inf if OPPOSITE not in pipeline.decoders else -math.inf  # its newest bytes
        self._resumed = schedule is not None
        self._schedule = Schedule(plan) if schedule is None else schedule
        self._capture = Capture()
        self._message = ""
        self._settled = asyncio.Event()

    @property
    def continuous(self) -> bool:
        """Whether angles come by themselves, from an encoder or on the indicator's line."""
        return self.pipeline.pairing.mode != "entered"

    async def run(self, sources: dict[str, Source]) -> None:
        """Open every source (by port name) and go on until `finish`, `stop` or a failure.

        Raises LoggerError: a port that cannot be opened at the start, or a file that cannot be
        written; FitterError: more than can be fitted. What was recorded by then is in the file.
        """
        self._lines.expect(*sources)
        tasks: list[asyncio.Task[Any]] = [
            asyncio.create_task(self._intake.source(name, *where)) for name, where in sources.items()
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
            self._close()
        if self.failure is not None:
            raise self.failure

    # What the operator does -----------------------------------------------------------------

    def confirm(self, deg: float | None = None) -> None:
        """Take a station at `deg` of the scale, or the next one due, at the next reading that finds the dial
        steady. Asked again meanwhile, the next reading takes it as the dial stands."""
        self._intake.take()  # what came before the key counts before it
        if self.continuous or self.finished.is_set():
            return
        asked = self._capture.deg
        if deg is None:
            deg = asked if asked is not None else self.next_deg
        if (why := self._refusal(deg)) is not None:
            self.say(why)
            return
        assert deg is not None
        self._settled.clear()
        self._capture.ask(deg, self.session.now(), force=asked is not None and self._line_watch.heard)
        if not self._line_watch.heard:
            self.say("waiting for the first reading of the dial")
        elif not self._watch.steady:
            self.say("hold still: the dial is moving")

    def _refusal(self, deg: float | None) -> str | None:
        """Why no station can be asked for now; None if one can."""
        if self._paused:
            return "paused: press P to go on"
        if deg is None:
            return "all stations are read: finish, or undo one"
        if not abs(deg) <= LARGEST_DEG:
            return "that is no angle"
        return self._lines.refusal

    def undo(self) -> None:
        """Take back a station that waits for a steady dial, or else the last one read."""
        if self.finished.is_set():
            return
        if self._capture.deg is not None:
            self._give_up("not taken")
            return
        if self.continuous or len(self.pipeline.fitter.stations()) == 0:
            self.say("there is nothing to undo")
            return
        self._guard(self.session.undo)
        self._schedule.undo()
        self.say("last station undone: read it again")

    def typed(self, text: str) -> None:
        """A reading typed by hand, at the station that is due."""
        if self.finished.is_set():
            return
        deg = self.next_deg
        if deg is None:
            self.say("all stations are read: finish, or undo one")
            return
        data = text.encode("latin-1", "replace") + b"\n"
        faults = self.pipeline.fault_count
        self._station(deg, lambda: self.session.typed(INDICATOR, data, deg))
        taken = self.pipeline.fault_count == faults
        if doubt := of_typed(self.pipeline.fitter) if taken else not_taken(text, self.pipeline.profile.unit):
            self.say(doubt)

    def retake(self) -> None:
        """Take the last station back and read it again where the crank now stands."""
        nothing = len(self.pipeline.fitter.stations()) == 0
        if self.continuous or nothing or self._capture.deg is not None:
            self.say("there is nothing to retake")
            return
        self.undo()
        self.confirm()

    def pause(self) -> None:
        """Hold the sweep while somebody is at the bell housing, or go on."""
        self._paused = not self._paused
        self._capture.drop()
        self._settled.set()
        self.note("paused" if self._paused else "goes on")
        self.say("paused: nothing is taken" if self._paused else "goes on")

    def another_turn(self, *, back: bool = False) -> None:
        """Read all stations once more, or in the other sense."""
        if self.continuous or self.finished.is_set():
            return
        self._schedule.add_turn(back=back)
        self.note(words := ONE_MORE_BACK if back else ONE_MORE)
        self.say(words)

    def note(self, text: str) -> None:
        """Words to keep with the recording."""
        self._guard(lambda: self.session.note(text))

    def finish(self) -> None:
        """End the sweep: compute, record and seal."""
        self._intake.take()
        if self.finished.is_set():
            return
        try:
            self.result = self.pipeline.result()
        except FitterError as error:
            self.say(str(error))
        if (result := self.result) is None:
            self.stop()
            return
        self._guard(lambda: self.session.finish(result.to_dict()))
        self._end()

    def stop(self) -> None:
        """Leave off here: the recording is sealed, holds no result, and can be resumed."""
        if self.finished.is_set():
            return
        self._guard(self.session.stop)
        self._end()

    def _end(self) -> None:
        self.finished.set()
        self._settled.set()

    def discard_if_empty(self) -> None:
        """Remove the recording of a sweep that never began; one that goes on stays, whatever it holds."""
        if not self._resumed:
            discard_if_empty(self.session.writer.path)

    async def captured(self) -> None:
        """Wait until the station that was asked for has been taken, or given up."""
        if self._capture.deg is not None:
            await self._settled.wait()

    # What is to be seen -----------------------------------------------------------------------

    @property
    def next_deg(self) -> float | None:
        """The station that is due, as entered; None when all are read."""
        due = self._schedule.next
        return None if due is None or self.continuous else due.deg

    @property
    def remaining(self) -> int:
        """How many stations are due."""
        return 0 if self.continuous else len(self._schedule)

    @property
    def steady(self) -> bool:
        """Whether the dial has been still for a dwell, and can be heard."""
        return self._watch.steady and self._lines.link is LinkState.UP

    def view(self) -> View:
        """Everything a screen shows, as of now."""
        due = self.next_deg
        return View.of(
            self.pipeline,
            title=self.title,
            reading=self._trace.newest,
            steady=self.steady,
            link=self._lines.link,
            lost=self._lines.lost,
            recording=self.session.writer.path.name,
            planned=0 if self.continuous else self.remaining + len(self.pipeline.fitter.stations()),
            next_deg=None if due is None else self.pipeline.setup.internal_deg(due),
            waiting_for_steady=self._capture.deg is not None,
            trace=self._trace.points(),
            paused=self._paused,
            prompt=self._prompt(),
            message=self._message,
            finished=self.finished.is_set(),
            sealed=self.finished.is_set() and self.failure is None,
        )

    def _prompt(self) -> str:
        if self.finished.is_set():
            return "sweep finished" if self.result else "stopped: kept for later"
        if (trouble := prompts.trouble(self._lines.lost, self._paused)) is not None:
            return trouble
        if self.continuous:
            return "turn the crank slowly round, then finish"
        if self._capture.deg is not None:
            return prompts.held(self.steady)
        return prompts.station(self._schedule.next, self.pipeline.setup, self.pipeline.profile.on_demand)

    # Behind the scenes ----------------------------------------------------------------------

    def _linked(self, name: str, state: str) -> None:
        words = self._lines.linked(name, state, self.session.now())
        self._guard(lambda: self.session.link(name, state))
        if state != "up":
            self._watch.forget()
            self._give_up("not taken")
        self.say(words)

    def _heard(self, record: Known) -> None:
        """The session's listener: the record is in the file, now let it count."""
        self._newest = None
        self.pipeline.feed((record,))
        if not isinstance(record, Raw):
            return
        if self._newest is not None:
            self._after_reading(self._newest)
        elif record.port == OPPOSITE:
            self._second = record.t
        elif record.port == INDICATOR:
            self._line_watch.bytes(record.t)

    def _after_reading(self, t: float) -> None:
        """Readings came, the newest at t: is it the station that was asked for?"""
        if self.continuous:
            return
        due = self.next_deg
        if self.pipeline.profile.on_demand:
            if due is not None and not self._paused:
                self._station(due, lambda: self.session.station(due))
            return
        asked = self._capture.reading(min(t, self._second), self._watch.steady)
        if asked is None and self.plan.auto and self._watch.ready and not self._paused:
            asked = due
        if asked is not None:
            self._watch.captured()
            self._station(asked, lambda: self.session.station(asked))
            self._settled.set()

    def _reading(self, block: Readings) -> None:
        self._trace.add(block)
        self._newest = float(block.t[-1])
        self._watch.readings(block)
        self._notes(self._line_watch.readings(block))

    def _give_up(self, why: str) -> None:
        """A station that was asked for is not taken."""
        if (deg := self._capture.deg) is None:
            return
        self._capture.drop()
        self._settled.set()
        self.say(f"station {clock_text(self.pipeline.setup.internal_deg(deg))}: {why}")

    def _station(self, deg: float, record: Callable[[], None]) -> None:
        """Record a station and see whether it came to anything."""
        before = len(self.pipeline.fitter.stations())
        self._guard(record)
        if len(self.pipeline.fitter.stations()) == before:
            if self.pipeline.profile.name != "typed":
                self.say("no reading to take: is the dial switched on and connected?")
            return
        self._schedule.read(deg)
        self.say(f"station {clock_text(self.pipeline.setup.internal_deg(deg))} taken")
        value = float(self.pipeline.fitter.stations().value[-1])
        self._notes(self._line_watch.station(value, self.session.now()))

    def _notes(self, notes: list[Fault]) -> None:
        """Into the recording, and in front of the operator."""
        for note in notes:
            self._noted(note)
            self.say(note.what)

    def _noted(self, fault: Fault) -> None:
        self._guard(lambda: self.session.fault(fault.port, fault.what))

    def _guard(self, action: Callable[[], None]) -> None:
        """Do something to the recording; if the file will not have it, end the sweep in words."""
        if self.finished.is_set():
            return
        try:
            action()
        except (LoggerError, FitterError) as error:
            self.failure = error
            self._message = str(error)
            self._end()

    def say(self, message: str) -> None:
        """Tell the operator."""
        self._message = message
        self.said(message)

    def tick(self) -> None:
        """Time has passed: write what waits, and notice what does not come."""
        self._intake.take()
        self._guard(self.session.tick)
        self._notes(self._line_watch.tick(self.session.now()))
        behind = self.pipeline.pairing.encoder_behind_s
        self._notes(self._lines.encoder_behind(behind, self.session.now()))
        watch, connecting = self._line_watch, self._lines.link is LinkState.WAITING
        patience = math.inf if connecting else watch.patience_s
        if (why := self._capture.overdue(self.session.now(), patience)) is not None:
            self._give_up(why if watch.heard else f"{why}. {MUTE}")

    async def _ticking(self) -> None:
        while True:
            await asyncio.sleep(TICK_S)
            self.tick()

    def _close(self) -> None:
        """Leave a sealed file behind, whatever ended the sweep."""
        try:
            broken = isinstance(self.failure, LoggerError)
            self.session.writer.abandon() if broken else self.session.writer.close()
        except LoggerError as error:
            self.failure = self.failure or error
