"""After so many seconds a page of the demo goes on by itself."""

import time
from typing import Final

COUNT_S: Final = 0.25
"""How often what it says is drawn anew."""


class Countdown:
    """Counts from `begin` on; of None seconds it never ends."""

    def __init__(self, seconds: float | None = None) -> None:
        self._seconds, self._since = seconds, 0.0
        self._counts = False

    def begin(self) -> None:
        """From now on, if it does not count yet."""
        if not self._counts:
            self._counts, self._since = self._seconds is not None, time.monotonic()

    def stop(self) -> None:
        """Somebody is at it: never by itself."""
        self._seconds, self._counts = None, False

    @property
    def _left(self) -> float:
        return max((self._seconds or 0.0) - (time.monotonic() - self._since), 0.0)

    @property
    def over(self) -> bool:
        """Whether it is time."""
        return self._counts and self._left <= 0.0

    @property
    def words(self) -> str:
        """How long it takes: "by itself in 4 s"; "" where it does not count."""
        return f"by itself in {self._left:.0f} s" if self._counts else ""
