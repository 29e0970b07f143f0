"""The recording of a sweep in progress: what goes into it from the ports, what its operator is told of
that, and whether it stays when the sweep is left."""

import asyncio
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from coaxly.fitter import FitterError
from coaxly.logger.angle.source import Source
from coaxly.logger.clock import Clock
from coaxly.logger.errors import LoggerError
from coaxly.logger.port.arrivals import BATCH_S, Arrivals
from coaxly.logger.port.serialport import SerialSource
from coaxly.logger.readings import Fault
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import Known, Raw, Seal
from coaxly.logger.recording.session import Listener, Session
from coaxly.logger.recording.writer import RecordingWriter

from ...errors import RUN_ERRORS
from ..recorded.pipeline import Pipeline
from .faultwords import bytes_missed
from .linestate import LineState
from .news import News, What


class Keeper:
    """Puts everything into the file, until the sweep ends: as asked for, or because the file fails.

    Rules: nothing is written once it is over. The first error of the file or of the fit is the last thing
    that happens, and is kept. Whatever ended it, what is on the disk is sealed, unless the disk is at fault.
    """

    def __init__(self, writer: RecordingWriter, clock: Clock, listener: Listener) -> None:
        """The writer has written its header; listener: is given every record that a replay would see."""
        self.session = Session(writer, clock, listener)
        self.finished = asyncio.Event()
        self.failure: LoggerError | FitterError | None = None
        self.newest: News | None = None
        self.said: Callable[[News], None] = lambda news: None
        self.ended: Callable[[], None] = lambda: None

    @property
    def over(self) -> bool:
        """Whether nothing is written any more."""
        return self.finished.is_set()

    def guard(self, action: Callable[[], None]) -> None:
        """Do something to the recording; if the file will not have it, end the sweep."""
        if self.over:
            return
        try:
            action()
        except RUN_ERRORS as error:
            self.failure = error
            self.newest = News(What.FAILED, text=str(error))
            self.end()

    def end(self) -> None:
        """Nothing comes any more."""
        self.finished.set()
        self.ended()

    def say(self, news: News) -> None:
        """Tell the operator."""
        self.newest = news
        self.said(news)

    def note(self, text: str) -> None:
        """Words to keep with the recording."""
        self.guard(lambda: self.session.note(text))

    def noted(self, fault: Fault) -> None:
        """A fault, into the recording."""
        self.guard(lambda: self.session.fault(fault.port, fault.what, fault.kind))

    def notes(self, faults: Iterable[Fault]) -> None:
        """Faults, into the recording and in front of the operator."""
        for fault in faults:
            self.noted(fault)
            self.say(News(What.NOTED, ports=(fault.port,), text=fault.what))

    def close(self) -> None:
        """Leave a sealed file behind, whatever ended the sweep."""
        try:
            broken = isinstance(self.failure, LoggerError)
            self.session.writer.abandon() if broken else self.session.writer.close()
        except LoggerError as error:
            self.failure = self.failure or error


def noting(keeper: Keeper, lines: LineState, pipeline: Pipeline) -> Callable[[Fault], None]:
    """What takes the faults of a pipeline: each goes into the recording, and what an instrument says of
    itself (hold, over range) once in front of the operator."""

    def noted(fault: Fault) -> None:
        keeper.noted(fault)
        if fault.kind == "rezeroed" and not pipeline.fitter.samples:
            return  # a dial is set to zero before it is swept
        if fault.kind and lines.watch.says(fault):
            keeper.say(News(What.SAYS, ports=(fault.port,), says=fault.kind))

    return noted


def discard_if_empty(path: Path) -> None:
    """Remove a recording that never began: a header, seals, and nothing else. One that holds any record,
    or cannot be read, stays."""
    try:
        reader = RecordingReader(path)
        records = [record for block in reader.blocks() for record in block]
    except LoggerError:
        return
    whole = not reader.bad and reader.torn is None
    if whole and all(isinstance(record, Seal) for record in records):
        path.unlink(missing_ok=True)


class Intake:
    """Opens ports and records what comes, in the order and with the times of its arrival."""

    def __init__(
        self,
        keeper: Keeper,
        linked: Callable[[str, str], None],
        count: Callable[[Sequence[Known]], None],
        *,
        together: bool,
    ) -> None:
        """linked: hears port and state. count: takes records that are in the file. together: all that comes
        at about the same time is counted at once, which comes to the same at a third of the cost; not where
        a station may wait for any of it."""
        self._keeper, self._session, self._linked = keeper, keeper.session, linked
        self.arrivals = Arrivals(keeper.session.clock)
        self.take = self.arrivals.take  # record what has come by now, before anything else is
        if together:
            self.arrivals.batch_s, self.arrivals.handed = BATCH_S, self._handed
        self._count, self._together = count, together
        self._gathered: list[Known] = []

    def gathered(self, record: Known) -> None:
        """A record is in the file: to be counted now, after what was gathered, or with what comes."""
        self._gathered.append(record)
        if not (self._together and self.arrivals.handing and isinstance(record, Raw)):
            self._all()

    def _handed(self) -> None:
        if self._gathered:
            self._keeper.guard(self._all)

    def _all(self) -> None:
        records, self._gathered = self._gathered, []
        self._count(records)

    async def source(self, name: str, where: Source) -> None:
        """Keep a port open until cancelled. Raises PortError if it cannot be opened at first."""
        url, profile = where
        source = SerialSource(
            url,
            profile,
            on_data=lambda data: self._keeper.guard(lambda: self._session.raw(name, data, self.arrivals.at)),
            on_link=lambda state: self._link(name, state),
            arrivals=self.arrivals,
            on_gap=lambda missed: self._missed(name, missed),
        )
        await source.run()

    def _link(self, name: str, state: str) -> None:
        self._handed()  # what came before the cable was pulled
        self._linked(name, state)

    def _missed(self, name: str, missed: int) -> None:
        """Bytes came faster than they were taken in: say so, and begin the line anew as after a plug."""
        self._handed()
        self._keeper.notes([bytes_missed(self._session.now(), name, missed)])
        self._keeper.guard(lambda: self._session.link(name, "up"))
