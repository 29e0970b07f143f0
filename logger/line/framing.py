"""Where lines end: at carriage returns and line feeds, at another character, or after so many bytes.
Sans-IO."""

import re
from collections import Counter, deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

_ENDS: Final = "\r\n"
_CONTROLS: Final = b"\x03\x00\x04\x0c\x12\x17\x1c\x1d\x1e\x1f\x02\x01"
"""Characters that may end a line where no line has CR or LF, the likeliest first; the last two begin the
next."""
_MARKS: Final = b";|"
_FEWEST: Final = 3
_LENGTHS: Final = range(4, 41)
_SAME: Final = 0.97
_MOST_LOST: Final = 256


@dataclass(frozen=True, slots=True)
class Framing:
    """terminator: each of its characters ends a line. length: of every line, where none ends it; else 0.
    pause_s: that ends every line, s, where neither does."""

    terminator: str = _ENDS
    length: int = 0
    pause_s: float = 0.0


USUAL: Final = Framing()
PAUSE_S: Final = 0.03
"""Silence that ends a line where nothing else does: adapters hand bytes on every 16 ms."""


def framing_of(data: bytes, parts: Sequence[bytes] = ()) -> Framing:
    """How the lines of a capture end; the usual way where nothing else is seen. parts: what stands between
    pauses, the first and the last perhaps not whole."""
    if data.count(b"\r") + data.count(b"\n") >= 2:
        return Framing(_ENDS + _beside_ends(data))
    counts = Counter(data)
    for end in (*_CONTROLS, *_MARKS):
        if counts[end] >= _FEWEST:
            return Framing(chr(end))
    if length := _length(data):
        return Framing(_ENDS, length)
    by_pauses = len(parts) > _FEWEST + 1 and not any(end in data for end in b"\r\n")
    return Framing(pause_s=PAUSE_S) if by_pauses and all(map(_whole_number, parts[1:-1])) else USUAL


def _whole_number(part: bytes) -> bool:
    """Whether a number with decimals is in it, and no second one of which it was parted too late: only such a
    line shows that it is whole."""
    return len(re.findall(rb"[.,](?=\d)", part)) == 1


def split(data: bytes, framing: Framing) -> tuple[list[bytes], bytes]:
    """The lines that have an end, without it, blank ones left out; and what came behind the last. The first
    may have lost its head."""
    if framing.length:
        begin = _begin(data, framing.length)
        end = begin + (len(data) - begin) // framing.length * framing.length
        return [data[at : at + framing.length] for at in range(begin, end, framing.length)], data[end:]
    first, *others = ends_of(framing.terminator.encode("latin-1"))
    for end in others:
        data = data.replace(bytes((end,)), bytes((first,)))
    *whole, rest = data.split(bytes((first,)))
    return [line for line in whole if line.strip()], rest


def ends_of(terminator: bytes) -> bytes:
    """The bytes that end a line: CR and LF do so alone or together, whichever of them is named."""
    return bytes({*terminator, *b"\r\n"}) if {*terminator} & {*b"\r\n"} else terminator


Part = tuple[int, int]
"""Where a part begins and ends."""


def apart(data: bytes, length: int, fits: Callable[[str], object]) -> tuple[list[Part], int]:
    """Lines of one length, what lies between, and where the rest begins. fits: tells a line by its text."""
    found: list[Part] = []
    begin = lost = 0
    while begin + lost + length <= len(data):
        at = begin + lost
        whole = bool(fits(data[at : at + length].decode("latin-1")))
        if lost and (whole or lost >= _MOST_LOST):
            found.append((begin, at))
            begin, lost = at, 0
        if whole:
            found.append((begin, begin + length))
            begin += length
        else:
            lost += 1
    return found, begin


def _beside_ends(data: bytes) -> str:
    """Control characters that always stand beside an end of a line, and so are part of it."""
    found = ""
    for code in b"\x03\x00\x04\x1a":
        mark = bytes((code,))
        beside = sum(data.count(end + mark) + data.count(mark + end) for end in (b"\r", b"\n"))
        if 0 < data.count(mark) <= beside + 1 and data.count(b"\n" + mark) + data.count(b"\r" + mark):
            found += chr(code)
    return found[:2]


def _length(data: bytes) -> int:
    """After how many bytes lines of one length repeat, 0 where they do not, or nobody can say where they
    begin."""
    made = _made(data)
    for length in _LENGTHS:
        same = sum(a == b for a, b in zip(made, made[length:], strict=False))
        if len(made) >= _FEWEST * length and same >= _SAME * (len(made) - length):
            return length if made[:length].count("+") == 1 else 0
    return 0


def _made(data: bytes) -> str:
    """Digits and signs made one, so that what is left is how a line is made."""
    text = data.decode("latin-1")
    return "".join("0" if c.isdigit() else "+" if c in "+-" else c for c in text)


def _begin(data: bytes, length: int) -> int:
    """Where the first line begins: with its sign, or with what stands before that since the line before."""
    return _made(data[:length]).index("+") if "+" in _made(data[:length]) else 0


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
