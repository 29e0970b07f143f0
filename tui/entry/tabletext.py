"""Tables that a person saved: the same mistakes are said in the same words for each."""

import csv
import io
from collections.abc import Iterator
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


def parted_by(text: str) -> str:
    """What parts the cells of a table: commas, or semicolons or tabs, where a comma can only be a decimal
    one."""
    head = text.partition("\n")[0]
    return next((mark for mark in (";", "\t") if mark in head and "," not in head), ",")


def table_rows(path: Path, text: str) -> Iterator[tuple[int, list[str]]]:
    """The rows of a table, blank ones left out: line and cells. Raises UsageError, naming the line."""
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=parted_by(text), strict=True)
    understood = 0
    try:
        for cells in rows:
            understood = rows.line_num
            if any(cell.strip() for cell in cells):
                yield understood, [cell.strip() for cell in cells]
    except csv.Error as error:
        what = "a quotation mark is never closed" if "unexpected end" in str(error) else error
        raise UsageError(f"{path}, line {understood + 1}: {what}: mend that line") from error
