"""From the ports of a sweep into its recording: one queue for all of them, and what it could not hold."""

from collections.abc import Callable

from logger.arrivals import Arrivals
from logger.profile import Profile
from logger.readings import Fault
from logger.serialport import SerialSource
from logger.session import Session


class Intake:
    """Opens ports and records what comes, in the order and with the times of its arrival."""

    def __init__(
        self,
        session: Session,
        guard: Callable[[Callable[[], None]], None],
        linked: Callable[[str, str], None],
        notes: Callable[[list[Fault]], None],
    ) -> None:
        """guard: does something to the recording, or ends the sweep in words. linked: hears port and
        state. notes: puts words into the recording and in front of the operator."""
        self.arrivals = Arrivals(session.clock)
        self._session, self._guard, self._linked, self._notes = session, guard, linked, notes

    async def source(self, name: str, url: str, profile: Profile) -> None:
        """Keep a port open until cancelled. Raises PortError if it cannot be opened at first."""
        source = SerialSource(
            url,
            profile,
            on_data=lambda data: self._guard(lambda: self._session.raw(name, data, self.arrivals.at)),
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
        what = f"{missed} bytes of the {name} came faster than they could be taken in and are lost"
        self._notes([Fault(self._session.now(), name, what, serious=False)])
        self._guard(lambda: self._session.link(name, "up"))
