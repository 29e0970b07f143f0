"""What can go wrong between the instrument and the file, with the facts as attributes."""

from pathlib import Path


class LoggerError(Exception):
    """Base of every error that the logger raises on purpose; its text is fit for the user."""


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


class WriteError(LoggerError):
    """The recording could not be written; everything up to the last flush is in the file."""

    def __init__(self, path: Path | str, cause: OSError) -> None:
        """The file and the system's own word for what happened."""
        super().__init__(
            f"cannot write {path}: {cause.strerror or cause}. "
            "The sweep has stopped; what was recorded up to a second before is in the file"
        )
        self.path, self.cause = path, cause


class PortError(LoggerError):
    """A port that cannot be opened or has gone."""

    def __init__(self, port: str, what: str) -> None:
        """`what` happened to `port`, and what to do about it."""
        super().__init__(f"{port}: {what}")
        self.port, self.what = port, what
