"""Are the bytes of a recording those that were written, and is it all there?

Every seal is computed anew. Only lines that may hold a seal, the end or a result are decoded; all
others are hashed in large pieces. What is cut off a file is never taken for a change: a cut leaves
whole lines, and perhaps half a line, of what was written.
"""

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final, Literal

import msgspec

from ..errors import RecordingError
from ..files import open_regular
from .reader import pieces
from .records import End, Header, Seal, decoded, encode, time_of

State = Literal["ok", "unfinished", "unsealed", "changed"]


class _Result(msgspec.Struct, tag_field="kind", tag="result"):
    """That there is a result; what it says is no matter here."""


_header: Final = msgspec.json.Decoder(Header)
_mark: Final[msgspec.json.Decoder[Seal | End | _Result]] = msgspec.json.Decoder(Seal | End | _Result)
_anything: Final = msgspec.json.Decoder()
_WORDS: Final = (b'"seal"', b'"end"', b'"result"')
_ESCAPE: Final = b"\\u00"
"""A word may be spelt with JSON's escapes for letters: a line with any of those is decoded as well."""


@dataclass(frozen=True, slots=True)
class SealReport:
    """What the seals of a recording say.

    state: "ok" (sealed to its last line), "unfinished" (its end, which the header announces, is not there),
        "unsealed" (no seal, or lines after the last), "changed".
    what: where, in words.
    seals: how many hold.
    last: the last that holds.
    end: the record of that name, where it holds.
    sealed_lines: how many lines the last seal speaks for, itself included.
    """

    state: State
    what: str
    seals: int
    last: Seal | None = None
    end: End | None = None
    sealed_lines: int = 0

    @property
    def head(self) -> str:
        """The hash of the last that holds, "" where none does."""
        return self.last.sha256 if self.last is not None else ""


def check_seals(path: Path) -> SealReport:
    """Walk through the file once. Raises RecordingError if it cannot be read."""
    try:
        with open_regular(path) as file:
            return seals_in(file)
    except OSError as error:
        raise RecordingError(path, 0, error.strerror or str(error)) from error


def seals_in(file: BinaryIO) -> SealReport:
    """The same of a file that is open, or of bytes that were read before. Raises OSError."""
    walk, torn = _Walk(), False
    for piece, kind in pieces(file):
        torn = not piece.endswith(b"\n")
        if kind == "lines":
            walk.whole_lines(piece)
        elif kind == "part":
            walk.pass_over(piece)
        if walk.fault is not None:
            break
    return walk.report(torn)


class _Walk:
    """What is known of a file up to some line."""

    def __init__(self) -> None:
        self.lines = 0
        self.fault: str | None = None
        self._digest = hashlib.sha256()
        self._header: Header | None = None
        self._before = b""  # the line before
        self._seals = 0
        self._sealed_at = self._result_at = self._end_at = self._broken_at = 0  # line numbers from 1; 0: none
        self._last: Seal | None = None
        self._end: End | None = None

    def whole_lines(self, data: bytes) -> None:
        """Lines with their ends, any of which may be a mark."""
        at = 0
        if self.lines == 0:
            at = data.find(b"\n") + 1
            self._header = decoded(_header, data[:at])
            self.pass_over(data[:at])
        for place in _marks(data, at):
            if place < at:
                continue
            begin = data.rfind(b"\n", at, place) + 1 or at
            stop = data.find(b"\n", place) + 1
            self.pass_over(data[at:begin])
            self._marked(data[begin:stop])
            if self.fault is not None:
                return
            at = stop
        self.pass_over(data[at:])

    def pass_over(self, lines: bytes) -> None:
        """Lines, or part of one, that are no mark."""
        if lines:
            self._digest.update(lines)
            self.lines += lines.count(b"\n")
            self._before = lines[lines.rfind(b"\n", 0, -1) + 1 :]

    def _marked(self, line: bytes) -> None:
        """A line that may hold a seal, the end or a result."""
        mark = decoded(_mark, line)
        if isinstance(mark, Seal):
            self._sealed(mark, line)
        elif isinstance(mark, End):
            if mark.sha256 != self._digest.hexdigest() or mark.records != self.lines:
                self._changed(self._sealed_at, self.lines + 1)
                return
            self._end, self._end_at = mark, self.lines + 1
        elif mark is not None:
            self._result_at = self.lines + 1
        elif decoded(_anything, line) is None:
            self._broken_at = self.lines + 1
        self.pass_over(line)

    def _sealed(self, seal: Seal, line: bytes) -> None:
        if seal.sha256 != self._digest.hexdigest() or seal.lines != self.lines:
            self._changed(self._sealed_at, self.lines + 1)
            return
        ours = self._header is not None and self._header.software
        t = time_of(self._before) if ours else None
        if not _as_written(line, seal) or (t is not None and seal.t != t):
            self._changed(self.lines, self.lines + 1)
            return
        self._seals, self._sealed_at, self._last = self._seals + 1, self.lines + 1, seal

    def _changed(self, after: int, upto: int) -> tuple[State, str]:
        span = f"between line {after + 1} and line {upto}" if upto > after + 1 else f"in line {upto}"
        self.fault = f"bytes were changed, added or removed {span}"
        if self._before.endswith(b"\r\n"):  # which no writer of ours puts
            self.fault += " (its line ends were turned into CR LF, as an editor or a mail program does)"
        return "changed", self.fault

    def report(self, torn: bool) -> SealReport:
        """What the whole file comes to. torn: half a line is left at its end."""
        state, what = self._judged(torn)
        end = None if state == "changed" else self._end
        return SealReport(state, what, self._seals, self._last, end, self._sealed_at)

    def _judged(self, torn: bool) -> tuple[State, str]:
        if self.fault is not None:
            return "changed", self.fault
        after = self.lines - self._sealed_at + torn  # lines after the last seal
        if self._broken_at > self._sealed_at:
            # No cut leaves a whole line that was never one.
            return self._changed(self._sealed_at, self._broken_at)
        if self._end is not None:
            return self._judged_with_end(torn)
        if self._header is not None and self._header.ends:
            return "unfinished", self._unproved(after, "it was never finished, or its end was removed")
        closed = self._result_at and (self._sealed_at > self._result_at or self.lines > self._result_at)
        if closed and after:
            # An earlier version wrote a result, one seal, and no more.
            return self._changed(max(self._sealed_at, self._result_at), self.lines + torn)
        if self._seals == 0:
            return "unsealed", "it was never sealed"
        if after:
            return "unsealed", self._unproved(after, "it was broken off, or added to")
        return "ok", (
            f"{_hold(self._seals)}; an earlier version marked no end, so a cut at a seal would not show"
        )

    def _judged_with_end(self, torn: bool) -> tuple[State, str]:
        if self._sealed_at == self._end_at + 1 == self.lines and not torn:
            return "ok", f"finished, {_hold(self._seals)}"
        if self.lines == self._end_at:
            return "unfinished", "cut short: its last seal is missing"
        return self._changed(max(self._end_at, self._sealed_at), self.lines + torn)

    def _unproved(self, after: int, why: str) -> str:
        if not after:
            return f"cut short: {why}; {_hold(self._seals)}"
        first, last = self._sealed_at + 1, self._sealed_at + after
        which = f"line {first} has" if after == 1 else f"lines {first} to {last} have"
        return f"cut short: {why}; {_hold(self._seals)}, {which} none"


def _marks(data: bytes, start: int) -> list[int]:
    """Where in `data` something may stand that is to be decoded, in order. One search for each word is
    several times as fast as one pattern for all."""
    places: list[int] = []
    for word in (*_WORDS, _ESCAPE):
        at = data.find(word, start)
        while at >= 0:
            if word is not _ESCAPE or data[at + 4 : at + 5] in (b"4", b"5", b"6", b"7"):
                places.append(at)
            at = data.find(word, at + len(word))
    return sorted(places)


def _hold(seals: int) -> str:
    return "no seal" if seals == 0 else "1 seal holds" if seals == 1 else f"{seals} seals hold"


def _as_written(line: bytes, seal: Seal) -> bool:
    """Whether a seal's line is what a writer of JSON would put: nothing else protects the last one. Ours puts
    small times otherwise than that of the standard library (0.000089, not 8.9e-05)."""
    if line[:-1] == encode(seal):
        return True
    try:
        pairs = json.loads(line, object_pairs_hook=list)
        keys = [key for key, _ in pairs]
        again = [json.dumps(dict(pairs), separators=form).encode() for form in ((",", ":"), (", ", ": "))]
    except (ValueError, TypeError, RecursionError):
        return False
    return line[:-1] in again and sorted(keys) == ["kind", "lines", "sha256", "t"]
