"""One sweep being recorded. Whatever happens is first written, then handed on.

What the listener gets is the record as it stands in the file, with the time that stands there, so
that a replay walks through the same records and cannot differ.
"""

from collections.abc import Callable
from typing import Any, Final

from ..clock import Clock
from .records import FaultNote, Known, Link, Note, Raw, ResultRecord, Station, Undo
from .writer import RecordingWriter

_BACKWARDS_S: Final = 0.1

TYPED_DWELL_S: Final = 1e-6
"""Dwell of a typed sweep: a station's reading is the one typed for it and no other."""

Listener = Callable[[Known], None]


class Session:
    """Stamps, writes and hands on records. Raises WriteError when the file will not have them."""

    def __init__(self, writer: RecordingWriter, clock: Clock, listener: Listener) -> None:
        """`listener` is called with every record that a replay would see."""
        self.writer = writer
        self.clock = clock
        self._listener = listener
        self._last = clock()
        self._lag = 0.0

    def now(self) -> float:
        """Session time. When the clock jumps back, time goes on from where it stood: never backwards in
        the file, and never standing still, for the file is flushed and sealed by it."""
        t = round(self.clock() + self._lag, 6)
        if (back := self._last - t) > _BACKWARDS_S:
            self._lag += back
            t = self._last
            what = f"the clock ran back by {back:.1f} s: times go on from where they were"
            self.writer.write(FaultNote(t, "clock", what))
        self._last = max(self._last, t)
        return self._last

    def raw(self, port: str, data: bytes, at: float | None = None) -> None:
        """Bytes arrived on a port, when the clock showed `at` (None: now); times in the file never fall."""
        before, t = self._last, self.now()
        if at is not None:
            t = self._last = max(before, min(round(at + self._lag, 6), t))
        self._record(Raw(t, port, data.decode("latin-1")))

    def station(self, deg: float, at: float | None = None) -> None:
        """The operator confirmed a station at `deg` of the scale; at: the time of the record, already handed
        on, whose reading took it (None: now). However long a busy machine needed to come to it, the dwell
        before it is the one that was looked at."""
        before, now = self._last, self.now()
        if at is not None:
            now = self._last = max(before, min(at, now))
        self._record(Station(now, deg))

    def typed(self, port: str, data: bytes, deg: float) -> None:
        """A reading typed at a station: both carry one time, apart from that of any other reading."""
        before = self._last
        self._last = t = round(max(self.now(), before + 2.0 * TYPED_DWELL_S), 6)
        self._record(Raw(t, port, data.decode("latin-1")))
        self._record(Station(t, deg))

    def undo(self) -> None:
        """The operator took the last station back."""
        self._record(Undo(self.now()))

    def link(self, port: str, state: str) -> None:
        """A port is "up" or "lost"."""
        self._record(Link(self.now(), port, state))

    def fault(self, port: str, what: str, says: str = "") -> None:
        """Something on a port was no reading; says: what its instrument says of itself by it."""
        self.writer.write(FaultNote(self.now(), port, what, says))

    def note(self, text: str) -> None:
        """Words of the operator."""
        self.writer.write(Note(self.now(), text))

    def finish(self, result: dict[str, Any] | None, fit: int = 0) -> None:
        """Write the result and the end, seal and close. fit: version of what made the result."""
        t = self.now()
        if result is not None:
            self.writer.write(ResultRecord(t, result, fit))
        self.writer.finish()

    def stop(self) -> None:
        """Seal and close, without a result: to be gone on with another day."""
        self.writer.close()

    def tick(self) -> None:
        """Now and then while nothing arrives."""
        self.writer.tick(self.now())

    def _record(self, record: Known) -> None:
        self.writer.write(record)
        self._listener(record)
