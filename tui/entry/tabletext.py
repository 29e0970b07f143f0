"""The text of a table that a person saved: the same mistakes are said in the same words for each."""

from pathlib import Path

from coaxly.logger.files import read_small

from ..errors import UsageError, reading


def table_text(path: Path, limit: int) -> str:
    """What stands in a file of up to `limit` bytes, without a mark of UTF-8 before it.

    Raises UsageError for one that cannot be read, is larger, or is no text in UTF-8, naming the line.
    """
    try:
        with reading(path):
            return read_small(path, limit).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise UsageError(f"{path}, line {line}: no text in UTF-8: save the table as CSV (UTF-8)") from error
