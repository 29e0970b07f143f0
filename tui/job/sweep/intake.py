"""From the ports of a sweep into its recording: one queue for all of them, and what it could not hold."""

from collections.abc import Callable, Sequence

from coaxly.logger.angle.source import Source
from coaxly.logger.port.arrivals import BATCH_S, Arrivals
from coaxly.logger.port.serialport import SerialSource
from coaxly.logger.recording.records import Known, Raw

from .faultwords import bytes_missed
from .keeper import Keeper


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
