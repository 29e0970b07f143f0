"""Reading a recording back: in blocks, with bounded memory, whatever the file holds.

A line that cannot be read is a hole: it is counted and named, and the rest is read all the same, for a
bad spot of a disk must not cost a whole sweep.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final, Literal

import msgspec

from ..errors import RecordingError
from ..files import in_words, open_regular
from .records import FORMAT, UNDECODABLE, VERSION, Header, Known, Record, Unknown, decoded

BLOCK: Final = 1 << 18
LONGEST_LINE: Final = 1 << 20
"""A line longer than this is no record of ours, and is not read into memory."""

_HOLES_KEPT: Final = 100
_PATIENCE: Final = 1000
"""So many bad lines are borne before a file in which they are the most is given up unread."""

_NO_RECORD: Final = "not a record"
_decoder: Final = msgspec.json.Decoder(Known)
_kind: Final = msgspec.json.Decoder(Unknown)


@dataclass(frozen=True, slots=True)
class Hole:
    """A line that cannot be read: its number from 1, its first byte from 0, its length in bytes, why."""

    line: int
    start: int
    size: int
    what: str

    def __str__(self) -> str:
        """In words."""
        return f"line {self.line} (bytes {self.start} to {self.start + self.size - 1}): {self.what}"


def pieces(file: BinaryIO) -> Iterator[tuple[bytes, Literal["lines", "part", "rest"]]]:
    """All of a file with bounded memory: whole lines, many at once; parts of a line that is too long; what
    stands behind the last end of a line."""
    rest, inside = b"", False
    while not file.closed and (data := file.read(BLOCK)):
        if inside:
            end = data.find(b"\n") + 1
            inside = not end
            yield data[: end or len(data)], "part"
            data = data[end or len(data) :]
        cut = data.rfind(b"\n") + 1
        if cut:
            yield rest + data[:cut], "lines"
            rest = data[cut:]
        else:
            rest += data
        if len(rest) > LONGEST_LINE:
            yield rest, "part"
            rest, inside = b"", True
    if rest:
        yield rest, "rest"


class RecordingReader:
    """The records of one file, in order.

    torn: set at the end if the last line was cut short. holes: the first of the other lines that could
    not be read; bad: how many there are.
    """

    def __init__(self, path: Path) -> None:
        """Open `path` and read its header. Raises RecordingError in words if it is no recording."""
        self.path = path
        self.torn: str | None = None
        self.holes: list[Hole] = []
        self.bad = 0
        self._good = 0
        self._line = 0
        self._blocks = self._read()
        try:
            self._file = open_regular(path)
        except OSError as error:
            raise RecordingError(path, 0, error.strerror or str(error)) from error
        try:
            self.header = self._read_header()
        except RecordingError:
            self._file.close()
            raise

    def _read_header(self) -> Header:
        path = self.path
        self._first = next((block for block in self._blocks if block or self.bad), [])
        if not self._first and not self.bad:
            raise RecordingError(path, 0, self.torn or "the file is empty")
        if self.bad and self.holes[0].line == 1:
            what = self.holes[0].what
            other = what.startswith(_NO_RECORD)
            raise RecordingError(path, 1, "it is no recording, or its beginning is gone" if other else what)
        header = self._first.pop(0) if self._first else None
        if not isinstance(header, Header):
            raise RecordingError(path, 1, "the first line must be the header of a recording")
        if header.format != FORMAT:
            raise RecordingError(path, 1, f"format is {header.format[:40]!r}, not {FORMAT!r}")
        if header.version != VERSION:
            raise RecordingError(
                path, 1, f"version {header.version} is not known here: update coaxly to read it"
            )
        return header

    def blocks(self) -> Iterator[list[Record]]:
        """The records after the header, in lists as they come off the disk. To be walked once.

        Raises RecordingError where more lines are bad than good.
        """
        yield self._first
        yield from self._blocks
        self._hopeless()

    def close(self) -> None:
        """Let go of the file; needed only where not all of it is read."""
        self._file.close()

    def __enter__(self) -> "RecordingReader":
        """Use in a `with` statement."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close."""
        self.close()

    @property
    def damage(self) -> str:
        """What could not be read, in words; empty for a sound file. Complete when all is read."""
        if not self.bad:
            return ""
        if self.bad == 1:
            return f"damaged: {self.holes[0]}; the rest was read"
        return f"damaged: {self.bad} lines cannot be read, first {self.holes[0]}; the rest was read"

    def _read(self) -> Iterator[list[Record]]:
        """The records of each block of whole lines, perhaps none. Closes the file behind the last."""
        at = too_long = 0  # bytes so far, and of a line that is too long
        try:
            for piece, kind in pieces(self._file):
                at += len(piece)
                if kind == "part":
                    too_long += len(piece)
                    if piece.endswith(b"\n"):
                        self._overlong(at - too_long, too_long)
                        too_long = 0
                elif kind == "lines":
                    yield self._decode(piece[:-1], at - len(piece))
                elif piece.strip():
                    yield self._last(piece)
        except OSError as error:
            raise RecordingError(self.path, 0, error.strerror or str(error)) from error
        self._file.close()
        if too_long:
            self._overlong(at - too_long, too_long)

    def _last(self, line: bytes) -> list[Record]:
        """A last line without its end: a hand-written file, or one that was cut while written."""
        self._line += 1
        record = self._record(line)
        if isinstance(record, str):
            self.torn = f"the last line (line {self._line}) is cut short and was left out"
            return []
        self._good += 1
        return [record]

    def _decode(self, lines: bytes, start: int) -> list[Record]:
        try:
            records: list[Record] = list(_decoder.decode_lines(lines))
        except UNDECODABLE:
            return self._decode_singly(lines, start)
        self._line += lines.count(b"\n") + 1
        self._good += len(records)
        return records

    def _decode_singly(self, lines: bytes, start: int) -> list[Record]:
        records: list[Record] = []
        for line in lines.split(b"\n"):
            self._line += 1
            if line.strip():
                record = self._record(line)
                if isinstance(record, str):
                    self._hole(start, len(line), record)
                else:
                    records.append(record)
            start += len(line) + 1
        self._good += len(records)
        if self.bad > _PATIENCE:
            self._hopeless()
        return records

    def _record(self, line: bytes) -> Record | str:
        """The record of a line, or what is wrong with it."""
        if len(line) > LONGEST_LINE:
            return "the line is too long to be a record"
        try:
            record: Record = _decoder.decode(line)
            return record
        except UNDECODABLE as error:
            if zeros := line.count(0):
                return f"{zeros} bytes of it are zero, as a fault of the disk leaves them"
            said = decoded(_kind, line)
            if said is not None and said.kind not in _KINDS:
                return said
            what = _NO_RECORD if said is None else f"not a proper {said.kind!r} record"
            return f"{what}: {in_words(error)}"

    def _overlong(self, start: int, size: int) -> None:
        self._line += 1
        self._hole(start, size, "the line is too long to be a record")

    def _hole(self, start: int, size: int, what: str) -> None:
        self.bad += 1
        if len(self.holes) < _HOLES_KEPT:
            self.holes.append(Hole(self._line, start, size, what))

    def _hopeless(self) -> None:
        """Raises RecordingError where there is more rubbish than recording."""
        if self.bad and self.bad >= self._good:  # the header is one of the good ones
            self.close()
            first = self.holes[0]
            more = f" ({self.bad} of {self.bad + self._good} lines are of no use)" if self.bad > 1 else ""
            raise RecordingError(self.path, first.line, first.what + more)


_KINDS: Final = {struct.__struct_config__.tag for struct in Known.__args__}
