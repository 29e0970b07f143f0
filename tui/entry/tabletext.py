"""Tables that a person saved, CSV and TOML: the same mistakes are said in the same words for each."""

from contextlib import suppress
from pathlib import Path
from typing import Any

from coaxly.logger.files import read_small, read_toml

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


def table_in(path: Path) -> dict[str, Any] | None:
    """What a TOML file holds; None where there is no file. Raises UsageError, naming it."""
    with reading(path), suppress(FileNotFoundError):
        try:
            return read_toml(path)
        except ValueError as error:
            raise UsageError(f"{path}: {error}") from error
    return None
