"""Writing a recording: append-only, sealed as it grows, whole after a power cut up to the last flush."""

import hashlib
import os
from pathlib import Path
from types import TracebackType
from typing import Final

from .errors import WriteError
from .records import Header, Known, Raw, Seal, encode

FLUSH_S: Final = 0.5
"""Raw bytes reach the file at least this often; an operator's action at once."""

SEAL_S: Final = 2.0
"""A seal is written, and everything forced to the disk, at least this often while bytes come."""


class RecordingWriter:
    """Appends records to a new file. Every method raises WriteError when the disk will not have it."""

    def __init__(self, path: Path, header: Header) -> None:
        """Create `path`, which must not exist, and write the header."""
        self.path = path
        self.lines = 0
        self._hash = hashlib.sha256()
        self._flushed = self._sealed = 0.0
        self._sealed_lines = 0
        try:
            self._file = path.open("xb", buffering=1 << 16)
        except OSError as error:
            raise WriteError(path, error) from error
        self._append(header)
        self._flush(0.0)

    def write(self, record: Known) -> None:
        """Append one record; `record.t` must not run backwards."""
        self._append(record)
        t = getattr(record, "t", 0.0)
        if not isinstance(record, Raw) or t - self._flushed >= FLUSH_S:
            self._flush(t)
        if t - self._sealed >= SEAL_S:
            self.seal(t)

    def tick(self, t: float) -> None:
        """Called now and then while nothing arrives, so that the last bytes are not left unsealed."""
        if self.lines > self._sealed_lines and t - self._sealed >= SEAL_S:
            self.seal(t)

    def seal(self, t: float) -> None:
        """Seal everything so far and force it to the disk."""
        self._append(Seal(t, self.lines, self._hash.hexdigest()))
        self._flush(t)
        try:
            os.fsync(self._file.fileno())
        except OSError as error:
            raise WriteError(self.path, error) from error
        self._sealed = t
        self._sealed_lines = self.lines

    def close(self, t: float) -> None:
        """Seal and close; a second call does nothing."""
        if self._file.closed:
            return
        try:
            if self.lines > self._sealed_lines:
                self.seal(t)
        finally:
            self.abandon()

    def abandon(self) -> None:
        """Close without a seal, for a disk that takes no more."""
        try:
            self._file.close()
        except OSError as error:
            raise WriteError(self.path, error) from error

    def _append(self, record: Known) -> None:
        line = encode(record) + b"\n"
        try:
            self._file.write(line)
        except OSError as error:
            raise WriteError(self.path, error) from error
        self._hash.update(line)
        self.lines += 1

    def _flush(self, t: float) -> None:
        try:
            self._file.flush()
        except OSError as error:
            raise WriteError(self.path, error) from error
        self._flushed = t

    def __enter__(self) -> "RecordingWriter":
        """Use in a `with` statement."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close, sealed as of the last record."""
        self.close(self._flushed)
