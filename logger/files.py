"""Opening files that others made: only real ones, and small ones only up to a size."""

import os
import stat
from pathlib import Path
from typing import Any, BinaryIO, Final

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


def read_toml(path: Path) -> dict[str, Any]:
    """The table of a small TOML file. Raises OSError, and ValueError in words for what it holds."""
    import tomllib

    try:
        text = read_small(path).decode("utf-8")
    except UnicodeDecodeError as error:
        raise ValueError(f"not proper TOML: byte {error.start} is not UTF-8 text") from error
    try:
        table = tomllib.loads(text)
        _check_numbers(table)
    except tomllib.TOMLDecodeError as error:
        raise ValueError(f"not proper TOML: {error}") from error
    except ValueError as error:
        raise ValueError("a number in it has more digits than any that could be meant") from error
    except RecursionError as error:
        raise ValueError("not proper TOML: brackets within brackets within brackets") from error
    return table


def _check_numbers(value: Any) -> None:
    """TOML's own bound for whole numbers: larger ones cannot even be shown."""
    if isinstance(value, int) and value.bit_length() > 64:
        raise ValueError
    for inner in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        _check_numbers(inner)
