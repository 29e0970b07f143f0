"""Opening files that others made: only real ones, and small ones only up to a size."""

import os
import stat
from pathlib import Path
from typing import BinaryIO, Final

SMALL_FILE: Final = 1 << 16
"""Settings, profiles and kits are written by people: a larger file is something else."""


def open_regular(path: Path) -> BinaryIO:
    """Open `path` for reading. Raises OSError, also for a folder, a pipe or a device: opening a pipe
    that nobody writes to would wait for ever, and a device may never end."""
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    number = os.open(path, flags | getattr(os, "O_CLOEXEC", 0))
    mode = os.fstat(number).st_mode
    if stat.S_ISREG(mode):
        return os.fdopen(number, "rb")
    os.close(number)
    what = "it is a folder" if stat.S_ISDIR(mode) else "it is no file but a pipe or a device"
    raise OSError(0, what, str(path))


def read_small(path: Path, limit: int = SMALL_FILE) -> bytes:
    """All of a small file. Raises OSError, also where it is larger than `limit` bytes."""
    with open_regular(path) as file:
        data = file.read(limit + 1)
    if len(data) > limit:
        raise OSError(0, f"it is larger than {limit // 1024} KiB", str(path))
    return data
