"""A recording that never began is removed when a sweep is left; any other stays."""

from pathlib import Path

from coaxly.logger.errors import LoggerError
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import Seal


def discard_if_empty(path: Path) -> None:
    """Remove a recording that never began: a header, seals, and nothing else. One that holds any record,
    or cannot be read, stays."""
    try:
        reader = RecordingReader(path)
        records = [record for block in reader.blocks() for record in block]
    except LoggerError:
        return
    whole = not reader.bad and reader.torn is None
    if whole and all(isinstance(record, Seal) for record in records):
        path.unlink(missing_ok=True)
