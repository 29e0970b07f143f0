"""Writing so that what was said to be there is there after a power cut: bytes and names forced to the disk.

A file's bytes are safe once it was fsynced, its name once its folder was. Everything here raises OSError.
"""

import contextlib
import errno
import os
import re
import secrets
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO, Final

_CANNOT: Final = {errno.EINVAL, errno.ENOTSUP, errno.EACCES, errno.EPERM, errno.EBADF, errno.EISDIR}
"""What systems say on which a folder cannot be forced: there the name is as safe as it gets."""
_LEFT_S: Final = 3600.0
"""Age of a draft that nobody is at any more."""
_LOT: Final = re.compile("[0-9a-f]{8}")


def force_names(folder: Path) -> None:
    """Force the names in a folder to the disk."""
    try:
        number = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(number)
        finally:
            os.close(number)
    except OSError as error:
        if error.errno not in _CANNOT:
            raise


def force(file: BinaryIO) -> None:
    """Force what was written to an open file to the disk."""
    file.flush()
    os.fsync(file.fileno())


class Beside:
    """A disk that takes its time is waited for in a thread, one wait at a time."""

    def __init__(self, wait: Callable[[], None]) -> None:
        """wait: what takes its time; it may raise OSError."""
        self._wait = wait
        self._thread: threading.Thread | None = None
        self._failed: OSError | None = None

    def begin(self) -> None:
        """Wait once more. Where the wait before goes on still, the next one has to do."""
        if self._thread is None or not self._thread.is_alive():
            self._thread = threading.Thread(target=self._run, name="disk", daemon=True)
            self._thread.start()

    def tell(self) -> None:
        """Raises the OSError of a wait that has ended, once."""
        failed, self._failed = self._failed, None
        if failed is not None:
            raise failed

    def end(self) -> None:
        """The last wait is over. Raises its OSError."""
        if self._thread is not None:
            self._thread.join()
        self.tell()

    def _run(self) -> None:
        try:
            self._wait()
        except OSError as error:
            self._failed = error


def make_folder(path: Path) -> None:
    """A folder, and those above it where they are missing; one that is there is left alone."""
    if path.is_dir():
        return
    make_folder(path.parent)
    path.mkdir(exist_ok=True)
    force_names(path.parent)


def write_new(path: Path, data: bytes) -> None:
    """A file that was not there before; where it cannot be written whole, nothing stays of it."""
    with path.open("xb") as file:
        try:
            file.write(data)
            force(file)
        except OSError:
            path.unlink(missing_ok=True)
            raise
    force_names(path.parent)


def draft_of(path: Path, data: bytes) -> Path:
    """The whole of what is to become a file, under a hidden name beside it: `place` puts it there."""
    draft = free_draft(path)
    write_new(draft, data)
    return draft


def free_draft(path: Path) -> Path:
    """A hidden name for it. Drafts of the same file that a program left which was killed are cleared away."""
    stem, now = f".{path.name[:200]}.", time.time()
    with contextlib.suppress(OSError), os.scandir(path.parent) as beside:
        for each in beside:
            if each.name.startswith(stem) and _LOT.fullmatch(each.name[len(stem) :]):
                with contextlib.suppress(OSError):
                    if now - each.stat().st_mtime > _LEFT_S:
                        Path(each.path).unlink()
    return path.with_name(f"{stem}{secrets.token_hex(4)}")


def place(draft: Path, path: Path) -> None:
    """Put a draft in its place, over what is there: nobody ever sees half of it."""
    try:
        draft.replace(path)
    except OSError:
        with contextlib.suppress(OSError):
            draft.unlink()
        raise
    force_names(path.parent)


def write_over(path: Path, data: bytes) -> None:
    """A file in one step, over what is there; where that is a link, over what it leads to."""
    path = path.resolve()
    place(draft_of(path, data), path)
