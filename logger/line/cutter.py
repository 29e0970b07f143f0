"""Bytes cut into lines while it is still found out where these end. Sans-IO."""

from collections import deque
from typing import Final

from .framing import USUAL, Framing, framing_of, split

_HEAD: Final = 4096
"""Bytes by which it is found out where lines end."""
_PARTS: Final = 160
_LONGEST: Final = 512


class Cutter:
    """framing: where lines end, as is known so far. settled: whether that is sure, and no more looked at."""

    def __init__(self, framing: Framing) -> None:
        """framing: as somebody said; the usual one is only a first guess."""
        self.framing = framing
        self._told = framing != USUAL
        self.settled = False
        self._rest = self._head = b""
        self._parts: deque[bytes] = deque([b""], maxlen=_PARTS)

    def feed(self, data: bytes) -> list[bytes]:
        """Bytes that came, none for a pause: the lines that are whole now."""
        if not self.settled and not self._told:
            self._head = (self._head + data)[-_HEAD:]
            if data:
                self._parts[-1] += data
            elif self._parts[-1]:
                self._parts.append(b"")
        if not self.framing.pause_s:
            whole, rest = split(self._rest + data, self.framing)
        elif data:
            whole, rest = [], self._rest + data
        else:
            whole, rest = [self._rest] if self._rest.strip() else [], b""
        self._rest = rest[-_LONGEST:]
        return whole

    def look(self) -> list[bytes] | None:
        """See anew where lines end: all lines so far if that is otherwise than was thought, else None."""
        if self.settled or self._told:
            return None
        framing = framing_of(self._head, [part for part in self._parts if part])
        if framing == self.framing:
            return None
        self.framing = framing
        parts = list(self._parts)
        whole, rest = (parts[:-1], parts[-1]) if framing.pause_s else split(self._head, framing)
        self._rest = rest[-_LONGEST:]
        return whole
