"""Keeping other programs out of a file while it is written: by flock, on Windows by its own locks of bytes.

A disk that keeps no locks (some that are shared over a network) is told from a file that another program
holds: the one cannot be written safely at all, the other can be once that program is done.
"""

import errno
import os
import time
from typing import BinaryIO, Final

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]
    import msvcrt

_HELD: Final = {errno.EAGAIN, errno.EWOULDBLOCK, errno.EACCES, errno.EDEADLK}
_FAR: Final = 1 << 40
"""The byte that is locked on Windows, where nobody can read what is locked: far behind what is written."""


class Held(OSError):
    """Another program holds the file."""


class NoLocks(OSError):
    """The disk keeps no locks."""


def lock(file: BinaryIO, patience_s: float = 0.0) -> None:
    """Hold a file that is open for writing, until it is closed. patience_s: how long to wait for somebody who
    holds it. Raises Held or NoLocks."""
    until = time.monotonic() + patience_s
    while True:
        try:
            return _locked(file, exclusive=True)
        except Held:
            if time.monotonic() > until:
                raise
        time.sleep(0.01)


def is_held(file: BinaryIO) -> bool:
    """Whether another program, or another part of this one, holds a file that is open for reading."""
    try:
        _locked(file, exclusive=False)
    except Held:
        return True
    except NoLocks:
        return False
    return False


def _locked(file: BinaryIO, *, exclusive: bool) -> None:
    try:
        if fcntl is not None:
            fcntl.flock(file.fileno(), (fcntl.LOCK_EX if exclusive else fcntl.LOCK_SH) | fcntl.LOCK_NB)
        else:
            _by_bytes(file, let_go=not exclusive)
    except OSError as error:
        kind = Held if error.errno in _HELD else NoLocks
        raise kind(error.errno, error.strerror) from error


def _by_bytes(file: BinaryIO, *, let_go: bool) -> None:
    at = os.lseek(file.fileno(), 0, os.SEEK_CUR)
    try:
        os.lseek(file.fileno(), _FAR, os.SEEK_SET)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        if let_go:
            os.lseek(file.fileno(), _FAR, os.SEEK_SET)
            msvcrt.locking(file.fileno(), msvcrt.LK_UNLCK, 1)  # type: ignore[attr-defined]
    finally:
        os.lseek(file.fileno(), at, os.SEEK_SET)
