"""A recording played back at the pace at which it was made, and how long that takes."""

import asyncio
import contextlib
import math
from dataclasses import dataclass
from pathlib import Path

import msgspec

from coaxly.fitter import FitterError, Result
from coaxly.fitter.geometry import EnteredDeg
from coaxly.logger.clock import SessionClock
from coaxly.logger.errors import LoggerError
from coaxly.logger.files import open_regular
from coaxly.logger.recording.reader import LONGEST_LINE, RecordingReader
from coaxly.logger.recording.records import Record, Seal, Station, Undo, decoded, time_of

from ...errors import UsageError
from ..recorded.pipeline import Pipeline
from .linestate import LinkState
from .news import Do, News, Task, What
from .stops import called
from .view import Tracing, View

_TENTHS = 10


_station = msgspec.json.Decoder(Station)


@dataclass(frozen=True, slots=True)
class Timeline:
    """length: seconds; marks: when each station was taken, seconds, rising. Of a sweep that stops at none,
    tenths of its length."""

    length: float = 0.0
    marks: tuple[float, ...] = ()

    def after(self, t: float) -> float:
        """The next mark, or the end."""
        return next((mark for mark in self.marks if mark > t), self.length)

    def before(self, t: float) -> float:
        """The mark before the one that `t` is at, or the beginning: pressed twice, it goes back twice."""
        past = [mark for mark in self.marks if mark <= t]
        return past[-2] if len(past) > 1 else 0.0


def read_timeline(path: Path) -> Timeline:
    """Of a recording. What cannot be read is left out: a replay names it."""
    marks: list[float] = []
    last = b""
    with contextlib.suppress(OSError), open_regular(path) as file:
        while line := file.readline(LONGEST_LINE):
            if b"station" in line and (station := decoded(_station, line)) is not None:
                marks.append(station.t)
            if line.endswith(b"\n"):
                last = line
    length = max(time_of(last) or 0.0, 0.0, *marks)
    if not marks:
        marks = [length * k / _TENTHS for k in range(1, _TENTHS)] if length > 0.0 else []
    return Timeline(length, tuple(sorted(marks)))


DRAWN = ("bore", "face")
"""What the measuring screen has a picture of: housings."""

_LONGEST_WAIT_S = 0.05
SPEEDS = (0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 50.0)


class ReplayRun:
    """Feeds records as their times come; the operator of now may pause, step, hurry, skip and go back."""

    def __init__(self, path: Path, speed: float) -> None:
        """Read the header. Raises LoggerError, FitterError or UsageError in words."""
        self.path = path
        self.speed = speed
        self.stays = False
        """Whether it waits at the end, to be gone back in."""
        self.timeline = Timeline()
        self._changed = asyncio.Event()
        self.paused = False
        self._back_to: float | None = None
        self._from_the_start()
        if (feature := self.pipeline.setup.feature) not in DRAWN:
            self._reader.close()
            raise UsageError(
                f"{path} holds a {feature} sweep, which the screen does not draw: coaxly replay FILE"
            )

    def _from_the_start(self) -> None:
        """Nothing fed yet: what has been is read from the file again, for a fit cannot be taken apart."""
        self.result: Result | None = None
        self._reader = RecordingReader(self.path)
        self.pipeline = Pipeline(self._reader.header)
        self._trace = Tracing(self.pipeline.setup)
        self.pipeline.heard = self._trace.add
        self._t = 0.0
        self._finished = self._sealed = self._step = False
        self._hurry_to: float | None = None  # a number of stations; infinity for the end
        self._until: float | None = None  # a time to hurry to
        self._news: News | None = None

    @property
    def at(self) -> float:
        """Where in the recording it is, seconds from its beginning."""
        return self._t

    async def play(self) -> None:
        """Feed everything, in its own time; what cannot be read is said, and ends it."""
        self.timeline = await asyncio.to_thread(read_timeline, self.path)
        while True:
            await self._once()
            while self.stays and self._back_to is None:
                await self._wait(_LONGEST_WAIT_S)
            if self._back_to is None:
                return
            self._reader.close()
            self._from_the_start()
            self._until, self._back_to = self._back_to, None

    async def _once(self) -> None:
        """From the beginning to the end, unless it is to be gone back in."""
        try:
            await self._play()
        except LoggerError as error:
            self._news = News(What.FAILED, text=str(error))
        finally:
            self._reader.close()
        if self._back_to is not None:
            return
        self.pipeline.damage, self.pipeline.torn = self._reader.damage, self._reader.torn or ""
        self._sealed = self._sealed and not self._reader.torn and not self._reader.bad
        with contextlib.suppress(FitterError):
            self.result = self.pipeline.result()
        self._finished = True

    async def _play(self) -> None:
        clock = SessionClock()
        before = clock()
        for block in self._reader.blocks():
            for record in block:
                t = getattr(record, "t", 0.0)
                while self._t < t and self._back_to is None and not self._hurrying(t):
                    await self._wait(min((t - self._t) / self.speed, _LONGEST_WAIT_S))
                    now = clock()
                    if not self.paused:
                        self._t = min(self._t + (now - before) * self.speed, t)
                    before = now
                    if self._step:
                        self._t = t
                if self._back_to is not None:
                    return
                self._t = max(self._t, t)
                self._feed(record)
                before = clock()

    def _hurrying(self, t: float) -> bool:
        """Whether the record of time `t` is fed at once."""
        if self._until is not None:
            if t <= self._until:
                return True
            self._t, self._until = max(self._t, self._until), None
        if self._hurry_to is None:
            return False
        if len(self.pipeline.fitter.stations()) >= self._hurry_to:
            self._hurry_to = None
            return False
        return True

    async def _wait(self, seconds: float) -> None:
        """Wait, or until a key changes something."""
        self._changed.clear()
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(self._changed.wait(), seconds)

    def _feed(self, record: Record) -> None:
        self.pipeline.feed((record,))
        self._sealed = isinstance(record, Seal)
        if isinstance(record, Station):
            self._step = False
            self._news = News(What.TAKEN, called(self.pipeline.setup, EnteredDeg(record.deg)))
        elif isinstance(record, Undo):
            self._news = News(What.TAKEN_BACK)

    def confirm(self) -> None:
        """Nothing to take in a replay: on to the next station."""
        self.jump()

    def undo(self) -> None:
        """A replay cannot be changed."""
        self._news = News(What.UNCHANGEABLE)

    def stop(self) -> None:
        """Nothing to keep: the recording is there."""

    def finish(self) -> None:
        """Feed the rest at once."""
        self._hurry_to, self.paused = math.inf, False
        self._changed.set()

    def jump(self) -> None:
        """Go to the next station at once."""
        self._hurry_to = len(self.pipeline.fitter.stations()) + 1
        self._changed.set()

    def jump_to(self, t: float) -> None:
        """Go to a time, seconds from the beginning, at once, on or back."""
        if t < self._t or self._finished:
            self._back_to = t
        else:
            self._until = t
        self._changed.set()

    def pause(self) -> None:
        """Hold, or go on."""
        self.paused = not self.paused
        self._news = News(What.HELD if self.paused else What.RESUMED)
        self._changed.set()

    def step(self) -> None:
        """One record further, held."""
        self.paused = self._step = True
        self._changed.set()

    def pace(self, way: int) -> None:
        """Faster (1) or slower (-1)."""
        nearest = min(range(len(SPEEDS)), key=lambda k: abs(math.log(SPEEDS[k] / self.speed)))
        self.speed = SPEEDS[min(max(nearest + way, 0), len(SPEEDS) - 1)]
        self._news = News(What.PACE, number=self.speed)

    def view(self) -> View:
        """What there is to see now."""
        header = self.pipeline.header
        return View.of(
            self.pipeline,
            (),
            title=f"replay: {header.job or 'sweep'}, as {header.stage or 'recorded'}",
            reading=self._trace.newest,
            steady=True,
            link=LinkState.REPLAY,
            lost=(),
            recording=self.path.name,
            planned=0,
            waiting_for_steady=False,
            trace=self._trace.points(),
            paused=self.paused,
            task=Task(Do.WATCH, at_s=self._t, held=self.paused),
            news=self._news,
            finished=self._finished,
            sealed=self._finished and self._sealed,
        )
