"""The operator asks for a station; the dial answers. When is its reading taken?"""

from typing import Final

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
        """Nothing asked for."""
        self.deg: float | None = None
        self._asked = self._waits_from = 0.0
        self._forced = False

    def ask(self, deg: float, t: float, *, force: bool = False) -> None:
        """Ask for a station at time `t`, s. force: take the next reading, steady or not."""
        if self.deg is None:
            self._asked = self._waits_from = t
        self.deg, self._forced = deg, force

    def reading(self, t: float, steady: bool) -> float | None:
        """A reading of time `t` came. Returns the station that is to be taken now, or None."""
        if self.deg is None or t <= self._asked:
            return None
        self._waits_from = t
        if not (steady or self._forced):
            return None
        deg = self.deg
        self.drop()
        return deg

    def waits_s(self, t: float) -> float:
        """For how long no reading has come since it was asked for; 0 with nothing asked."""
        return 0.0 if self.deg is None else t - self._waits_from

    def restless(self, t: float) -> bool:
        """Whether the dial has moved for longer than anybody waits."""
        return self.deg is not None and t - self._asked > PATIENCE_S

    def drop(self) -> None:
        """Nothing is asked for any more."""
        self.deg, self._forced = None, False
