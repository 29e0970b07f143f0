"""Mistakes of the person at the keyboard, what stands in their way, and the exit codes of every command."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from coaxly.fitter.errors import FitterError
from coaxly.logger.errors import LoggerError

FINE: Final = 0
FINDING: Final = 1
"""Outside, unsure, not as planned, no result, an audit that differs: the answer is in the output."""

MISUSE: Final = 2
"""Something that was asked for cannot be: one sentence says what."""

FAILURE: Final = 3
"""Hardware or disk."""

STOPPED: Final = 130
"""Told to end (Ctrl+C, `kill`, a terminal that is closed), whatever came of it until then; the number is that
of shells."""


class CommandError(Exception):
    """Base of what a command of ours raises on purpose; its text is fit for the user, and a command that
    ends by it ends with exit_code."""

    exit_code: int = MISUSE


class UsageError(CommandError):
    """Something asked for cannot be done; the text says what, and what to do instead."""

    def __init__(self, said: str, *, command: str = "", keys: str = "") -> None:
        """said: all of it, where what to do instead is the same everywhere. command, keys: that, on a command
        line and on the screens."""
        super().__init__(f"{said}: {command}" if command else said)
        self.on_screen = f"{said}: {keys}" if keys else str(self)


class NoResult(CommandError):
    """It was done, and nothing came of it that could be called a result."""

    exit_code = FINDING


class Failure(CommandError):
    """Hardware or disk did not do its part; the text says which."""

    exit_code = FAILURE


RUN_ERRORS: Final = (LoggerError, FitterError)
"""What a run of lines into samples may end by: the one of its lines and files, the other of its sweep."""

OURS: Final = (*RUN_ERRORS, CommandError)
"""Everything that is raised on purpose: with a text for the user and an exit_code of the command."""


def on_screen(error: Exception) -> str:
    """What a screen says of it."""
    return error.on_screen if isinstance(error, UsageError) else str(error)


@contextmanager
def reading(path: Path) -> Iterator[None]:
    """A file that cannot be read is a mistake of whoever named it. Raises UsageError in place of OSError."""
    try:
        yield
    except OSError as error:
        raise UsageError(f"{path}: {error.strerror or error}") from error


@contextmanager
def doing(what: str) -> Iterator[None]:
    """What a disk will not have, such as "write x.toml". Raises Failure in place of OSError."""
    try:
        yield
    except OSError as error:
        raise Failure(f"cannot {what}: {error.strerror or error}") from error
