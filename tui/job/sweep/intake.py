"""From the ports of a sweep into its recording: one queue for all of them, and what it could not hold."""

from collections.abc import Callable

from coaxly.logger.angle.source import Source
from coaxly.logger.port.arrivals import Arrivals
from coaxly.logger.port.serialport import SerialSource

from .faults import bytes_missed
from .keeper import Keeper


class Intake:
    """Opens ports and records what comes, in the order and with the times of its arrival."""

    def __init__(self, keeper: Keeper, linked: Callable[[str, str], None]) -> None:
        """linked: hears port and state."""
        self._keeper, self._session, self._linked = keeper, keeper.session, linked
        self.arrivals = Arrivals(keeper.session.clock)

    async def source(self, name: str, where: Source) -> None:
        """Keep a port open until cancelled. Raises PortError if it cannot be opened at first."""
        url, profile = where
        source = SerialSource(
            url,
            profile,
            on_data=lambda data: self._keeper.guard(lambda: self._session.raw(name, data, self.arrivals.at)),
            on_link=lambda state: self._linked(name, state),
            arrivals=self.arrivals,
            on_gap=lambda missed: self._missed(name, missed),
        )
        await source.run()

    def take(self) -> None:
        """Record what has come by now, before anything else is."""
        self.arrivals.take()

    def _missed(self, name: str, missed: int) -> None:
        """Bytes came faster than they were taken in: say so, and begin the line anew as after a plug."""
        self._keeper.notes([bytes_missed(self._session.now(), name, missed)])
        self._keeper.guard(lambda: self._session.link(name, "up"))
