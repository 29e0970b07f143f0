"""Reading a recording back: in blocks, with bounded memory, whatever the file holds."""

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import msgspec

from .errors import RecordingError
from .records import FORMAT, VERSION, Header, Known, Record, Unknown

BLOCK: Final = 1 << 18
LONGEST_LINE: Final = 1 << 20
"""A line longer than this is no record of ours, and is not read into memory."""

_decoder: Final = msgspec.json.Decoder(Known)


class _Kind(msgspec.Struct):
    kind: str


class RecordingReader:
    """The records of one file, in order. `torn`: set at the end if the last line was cut short."""

    def __init__(self, path: Path) -> None:
        """Open `path` and read its header. Raises RecordingError in words if it is no recording."""
        self.path = path
        self.torn: str | None = None
        self._line = 0
        self._blocks = self._read_blocks()
        self._first: list[Record] = []
        while not self._first:
            block = next(self._blocks, None)
            if block is None:
                raise RecordingError(path, 0, self.torn or "the file is empty")
            self._first = block
        header = self._first.pop(0)
        if not isinstance(header, Header):
            raise RecordingError(path, 1, "the first line must be the header of a recording")
        if header.format != FORMAT:
            raise RecordingError(path, 1, f"format is {header.format[:40]!r}, not {FORMAT!r}")
        if header.version != VERSION:
            raise RecordingError(
                path, 1, f"version {header.version} is not known here: update coaxly to read it"
            )
        self.header = header

    def blocks(self) -> Iterator[list[Record]]:
        """The records after the header, in lists as they come off the disk. To be walked once."""
        yield self._first
        yield from self._blocks

    def _read_blocks(self) -> Iterator[list[Record]]:
        rest = b""
        try:
            with self.path.open("rb") as file:
                while data := file.read(BLOCK):
                    head, newline, tail = data.rpartition(b"\n")
                    if not newline:
                        rest += data
                    else:
                        whole, rest = rest + head, tail
                        yield self._decode(whole)
                    if len(rest) > LONGEST_LINE:
                        raise RecordingError(self.path, self._line + 1, "the line is too long to be a record")
        except OSError as error:
            raise RecordingError(self.path, 0, error.strerror or str(error)) from error
        if rest.strip():
            yield self._last(rest)

    def _last(self, line: bytes) -> list[Record]:
        """A last line without its end: a hand-written file, or one that was cut while written."""
        try:
            return self._decode(line)
        except RecordingError:
            self.torn = f"the last line (line {self._line}) is cut short and was left out"
            return []

    def _decode(self, lines: bytes) -> list[Record]:
        try:
            records: list[Record] = list(_decoder.decode_lines(lines))
        except (msgspec.MsgspecError, RecursionError, UnicodeDecodeError):
            return [record for line in lines.split(b"\n") if (record := self._decode_line(line))]
        self._line += lines.count(b"\n") + 1
        return records

    def _decode_line(self, line: bytes) -> Record | None:
        self._line += 1
        if not line.strip():
            return None
        try:
            record: Record = _decoder.decode(line)
            return record
        except (msgspec.MsgspecError, RecursionError, UnicodeDecodeError) as error:
            kind = _kind_of(line)
            if kind is not None and kind not in _KINDS:
                return Unknown(kind)
            what = "not a record" if kind is None else f"not a proper {kind!r} record"
            raise RecordingError(self.path, self._line, f"{what}: {error}") from error


_KINDS: Final = {struct.__struct_config__.tag for struct in Known.__args__}


def _kind_of(line: bytes) -> str | None:
    try:
        return msgspec.json.decode(line, type=_Kind).kind
    except (msgspec.MsgspecError, RecursionError, UnicodeDecodeError):
        return None
