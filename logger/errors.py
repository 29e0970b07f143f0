"""What can go wrong between the instrument and the file, with the facts as attributes."""

import errno
from pathlib import Path

_FULL = (errno.ENOSPC, errno.EDQUOT)
_NAMED_WRONGLY = (FileExistsError, FileNotFoundError, NotADirectoryError, IsADirectoryError)


class LoggerError(Exception):
    """Base of every error that the logger raises on purpose; its text is fit for the user.

    exit_code: of a command that ends by it: 2 for something that was asked for and cannot be, 3 for
    hardware or the disk.
    """

    exit_code: int = 2


class ProfileError(LoggerError):
    """An instrument profile that cannot be used."""

    def __init__(self, profile: str, what: str) -> None:
        """`profile` by name or file; `what` is wrong with it and what to do."""
        super().__init__(f"profile {profile}: {what}")
        self.profile, self.what = profile, what


class RecordingError(LoggerError):
    """A recording that cannot be read."""

    def __init__(self, path: Path | str, line: int, what: str) -> None:
        """`line` counts from 1; 0 speaks of the whole file."""
        where = f"{path}, line {line}" if line else str(path)
        super().__init__(f"{where}: {what}")
        self.path, self.line, self.what = path, line, what


class BeingWritten(RecordingError):
    """Another program is writing it."""


class WriteError(LoggerError):
    """The recording could not be written; if it was begun, everything up to the last flush is in the file."""

    def __init__(self, path: Path | str, cause: OSError, *, begun: bool = True) -> None:
        """The file, the system's own word for what happened, and whether there was a recording before."""
        # A name that cannot be had is the asker's business, a disk that fails is not.
        self.exit_code = 2 if isinstance(cause, _NAMED_WRONGLY) else 3
        if begun:
            kept = "The sweep has stopped; what was recorded up to a second before is in the file"
            if cause.errno in _FULL:
                kept += ": make room on that disk, then go on"
        elif isinstance(cause, FileExistsError):
            kept = "Nothing was recorded: a file is never written over, so give it another name"
        elif cause.errno in _FULL:
            kept = "Nothing was recorded: make room on that disk, then sweep again"
        else:
            kept = "Nothing was recorded: name a file in a folder that is there and may be written to"
        super().__init__(f"cannot write {path}: {cause.strerror or cause}. {kept}")
        self.path, self.cause = path, cause


class PortError(LoggerError):
    """A port that cannot be opened or has gone."""

    exit_code = 3

    def __init__(self, port: str, what: str, *, passing: bool = False) -> None:
        """`what` happened to `port`, and what to do about it; passing: it may pass by itself in seconds."""
        super().__init__(f"{port}: {what}")
        self.port, self.what, self.passing = port, what, passing
