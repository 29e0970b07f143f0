"""Writing a recording: append-only, sealed as it grows, whole after a power cut up to the last flush.

A seal carries the time of the record before it, so that even a changed time in the last line of a
file shows. A finished recording says so in an `end` record before its last seal; its header announces
that there will be one, so that a cut shows wherever it is made.
"""

import contextlib
import errno
import hashlib
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, Final

import msgspec

from ..durable import Beside, force, force_names
from ..errors import BeingWritten, RecordingError, WriteError
from ..files import open_regular
from ..locks import Held, NoLocks, is_held, lock
from .records import End, Header, Raw, Seal, Signed, encode, end_message, signed_message, time_of

if TYPE_CHECKING:
    from .signing import WorkshopKey

FLUSH_S: Final = 0.5
"""Raw bytes reach the file at least this often; an operator's action at once."""

SEAL_S: Final = 2.0
"""A seal is written, and everything forced to the disk, at least this often while bytes come. Nobody waits
for the disk meanwhile: a card that takes half a second for it would hold the screen as long."""

_BUFFER: Final = 1 << 16


class RecordingWriter:
    """Appends records to a file that nobody else writes. Every method raises WriteError when the disk
    will not have it. signer: set it for a recording whose end is to be signed."""

    signer: "WorkshopKey | None" = None
    tail: bytes = b""

    def __init__(self, path: Path, header: Header) -> None:
        """Create `path`, which must not exist, and write the header."""
        self._begin(path, "xb")
        try:
            self._append(msgspec.structs.replace(header, ends=True))
            self._flush(0.0)
            with _told(path):  # what is sealed later is of no use without its name
                force_names(path.parent)
        except WriteError as error:
            # A disk that has no room for a header leaves no empty file in the way of the next try.
            with contextlib.suppress(OSError):
                self._file.close()
            path.unlink(missing_ok=True)
            raise WriteError(path, error.cause, begun=False) from error

    @classmethod
    def resume(
        cls, path: Path, *, keep_last: Callable[[bytes], bool] = lambda tail: False, patience_s: float = 0.0
    ) -> "RecordingWriter":
        """Go on with a recording that was broken off: half a line at its end is cut away, and is `tail` then.
        keep_last: whether that line lacks only its end, which is put there. patience_s: how long to wait for
        somebody else who is writing it.

        Raises WriteError, also where another process is writing it.
        """
        writer = cls.__new__(cls)
        writer._begin(path, "r+b", patience_s)
        with _told(path):
            size = writer._file.seek(_whole_lines(writer._file))
            tail = writer._file.read()
            if tail and keep_last(tail):
                writer._file.write(b"\n")
                size, tail = size + len(tail) + 1, b""
            writer.tail = tail
            writer._file.truncate(size)
            writer._take_up(size)
        return writer

    def _take_up(self, size: int) -> None:
        """Bring hash, count and time to where the file stands. Leaves it at its end."""
        self._file.seek(0)
        tail = b""
        while block := self._file.read(_BUFFER):
            self._hash.update(block)
            self.lines += block.count(b"\n")
            tail = tail[-_BUFFER:] + block
        self._last = time_of(tail[tail.rfind(b"\n", 0, -1) + 1 :]) or 0.0
        self._file.seek(size)

    def _begin(self, path: Path, mode: str, patience_s: float = 0.0) -> None:
        self.path = path
        self.lines = 0
        self._hash = hashlib.sha256()
        self._last = self._flushed = self._sealed = 0.0
        self._sealed_lines = 0
        self._beside = Beside(self._force)
        with _told(path, begun=False):
            self._file: BinaryIO = path.open(mode, buffering=_BUFFER)  # type: ignore[assignment]
        _lock(self._file, path, patience_s)

    def write(self, record: msgspec.Struct) -> None:
        """Append one record; `record.t` must not run backwards."""
        self._append(record)
        self._last = t = getattr(record, "t", self._last)
        if not isinstance(record, Raw) or t - self._flushed >= FLUSH_S:
            self._flush(t)
        if t - self._sealed >= SEAL_S:
            self._seal_by_the_way()

    def written(self) -> bytes:
        """All that the file holds, whoever wrote it: read through the hold on it, so that nothing comes
        between."""
        with _told(self.path):
            self._file.flush()
            self._file.seek(0)
            data = self._file.read()
            self._file.seek(0, os.SEEK_END)
        return data

    def tick(self, t: float) -> None:
        """Called now and then while nothing arrives, so that the last bytes are not left in memory."""
        if self.lines > self._sealed_lines and t - self._sealed >= SEAL_S:
            self._seal_by_the_way()
            self._sealed = t
        elif t - self._flushed >= FLUSH_S:
            self._flush(t)

    def seal(self) -> None:
        """Seal everything so far and force it to the disk."""
        self._seal()
        with _told(self.path):
            self._beside.end()
            self._force()

    def _seal_by_the_way(self) -> None:
        """Seal everything so far; a later call tells where the disk did not take it."""
        self._seal()
        with _told(self.path):
            self._beside.tell()
            self._beside.begin()

    def _seal(self) -> None:
        self._append(Seal(self._last, self.lines, self._hash.hexdigest()))
        self._flush(self._last)
        self._sealed = self._last
        self._sealed_lines = self.lines

    def _force(self) -> None:
        force(self._file)
        if os.fstat(self._file.fileno()).st_nlink == 0:
            raise OSError(errno.ESTALE, "the file or its folder was removed meanwhile")

    def finish(self) -> None:
        """Say that the recording is finished, seal and close. Nothing can be added to it any more."""
        digest = self._hash.hexdigest()
        end = End(self._last, self.lines, digest)
        if self.signer is not None:
            signature = self.signer.sign(end_message(end))
            end = End(self._last, self.lines, digest, self.signer.key, signature)
        self._append(end)
        self.close()

    def sign(self, since: int) -> None:
        """Sign everything so far, if anybody signs, in a file that goes on. since: the first line that this
        writer wrote."""
        if self.signer is None:
            return
        bare = Signed(self.lines, self._hash.hexdigest(), since, self.signer.key)
        self._append(msgspec.structs.replace(bare, signature=self.signer.sign(signed_message(bare))))

    def close(self) -> None:
        """Seal and close, to be gone on with or not; a second call does nothing."""
        if self._file.closed:
            return
        with _told(self.path):
            try:
                if self.lines > self._sealed_lines:
                    self.seal()
                self._beside.end()
            finally:
                self.abandon()

    def abandon(self) -> None:
        """Close without a seal, for a disk that takes no more."""
        with contextlib.suppress(OSError):  # who seals before has heard of it
            self._beside.end()
        with _told(self.path):
            self._file.close()

    def _append(self, record: msgspec.Struct) -> None:
        line = encode(record) + b"\n"
        with _told(self.path):
            self._file.write(line)
        self._hash.update(line)
        self.lines += 1

    def _flush(self, t: float) -> None:
        with _told(self.path):
            self._file.flush()
        self._flushed = t

    def __enter__(self) -> "RecordingWriter":
        """Use in a `with` statement."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close, sealed."""
        self.close()


@contextlib.contextmanager
def _told(path: Path, *, begun: bool = True) -> Iterator[None]:
    """Raises WriteError in place of OSError."""
    try:
        yield
    except OSError as error:
        raise WriteError(path, error, begun=begun) from error


def being_written(path: Path) -> bool:
    """Whether another program, or another part of this one, writes the recording now, where the system can
    tell. Raises OSError."""
    with open_regular(path) as file:
        return is_held(file)


def _whole_lines(file: BinaryIO) -> int:
    """Where the last whole line of a file ends."""
    at = file.seek(0, os.SEEK_END)
    while at > 0:
        start = max(at - _BUFFER, 0)
        file.seek(start)
        newline = file.read(at - start).rfind(b"\n")
        if newline >= 0:
            return start + newline + 1
        at = start
    return 0


def _lock(file: BinaryIO, path: Path, patience_s: float) -> None:
    """Keep other programs from writing the same recording."""
    try:
        lock(file, patience_s)
    except Held as error:
        file.close()
        raise BeingWritten(path, 0, "another program is writing this recording: close it first") from error
    except NoLocks as error:
        file.close()
        what = "this disk keeps no locks, so two programs could write into each other: use a disk that does"
        raise RecordingError(path, 0, what) from error
