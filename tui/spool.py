"""`-` for standard input, where a command reads a file: what comes is laid down in a file, for some of them
look at it twice.
"""

import argparse
import contextlib
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from .errors import Failure, UsageError, doing

WORD: Final = "-"
READ: Final = ("file", "files", "found", "left", "bore", "paths", "csv")
"""Where the command line keeps names of files that are only read."""


@contextlib.contextmanager
def standard_input(arguments: argparse.Namespace) -> Iterator[argparse.Namespace]:
    """What a command is to run with: each `-` among its files is a file that holds what standard input held.

    Raises UsageError where it is asked for twice or is a keyboard, and Failure where it cannot be laid down.
    """
    asked = [name for name in READ for _ in range(_times(getattr(arguments, name, None)))]
    if not asked:
        yield arguments
        return
    if len(asked) > 1:
        raise UsageError("- is standard input, and can be read once: name the other files")
    import tempfile

    with tempfile.TemporaryDirectory(prefix="coaxly-") as folder:
        path = Path(folder) / "standard-input"
        _lay_down(path)
        value = getattr(arguments, asked[0])
        several = [str(path) if each == WORD else each for each in value] if isinstance(value, list) else None
        yield argparse.Namespace(**{**vars(arguments), asked[0]: several or str(path)})


def _times(value: Any) -> int:
    return value.count(WORD) if isinstance(value, list) else int(value == WORD)


def _lay_down(path: Path) -> None:
    if sys.stdin is None:
        raise Failure("standard input is closed: name a file in place of -")
    if sys.stdin.isatty():
        raise UsageError("- is standard input, which is the keyboard here: name a file, or pipe one in")
    import shutil

    with doing("keep what standard input holds"), path.open("wb") as file:
        shutil.copyfileobj(sys.stdin.buffer, file)
