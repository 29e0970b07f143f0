"""The operator has asked for a station: when is the dial steady enough for it to be taken, and when is it
given up?
"""

from typing import Final

from coaxly.fitter.geometry import EnteredDeg

from .news import Why

PATIENCE_S: Final = 20.0
"""So long may a dial move after a station was asked for; then the operator is no longer standing by."""


class Capture:
    """A station that was asked for, until it is taken or given up. Sans-IO.

    Rules: only a reading that came after it was asked for may take it, so that a slow dial cannot give the
    reading of the place before. A steady dial takes it; asked for twice, the next reading takes it as the
    dial stands. It is given up when the dial falls silent, its cable is lost or it never comes to rest:
    a reading that comes much later may be of another place.
    """

    def __init__(self) -> None:
        self.deg: EnteredDeg | None = None
        self._asked = self._waits_from = 0.0
        self._forced = False

    def ask(self, deg: EnteredDeg, t: float, *, force: bool = False) -> None:
        """Ask for a station at time `t`, s. force: take the next reading, steady or not."""
        if self.deg is None:
            self._asked = self._waits_from = t
        self.deg, self._forced = deg, force

    def reading(self, t: float, steady: bool) -> EnteredDeg | None:
        """A reading of time `t` came. Returns the station that is to be taken now, or None."""
        if self.deg is None or t <= self._asked:
            return None
        self._waits_from = t
        if not (steady or self._forced):
            return None
        deg = self.deg
        self.drop()
        return deg

    def overdue(self, t: float, patience_s: float) -> Why | None:
        """Why it is to be given up now: nothing came for patience_s, or the dial never rests."""
        if self.deg is None:
            return None
        if t - self._waits_from > patience_s:
            return Why.SILENT
        return Why.RESTLESS if t - self._asked > PATIENCE_S else None

    def drop(self) -> None:
        """Nothing is asked for any more."""
        self.deg, self._forced = None, False
