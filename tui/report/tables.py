"""Columns as a file for spreadsheets and table libraries: CSV, or Parquet where pyarrow is installed."""

import csv
import io
from pathlib import Path
from typing import Any, Final

from ..entry.names import free, put_new
from ..errors import UsageError
from ..job.recorded.columns import Columns, rows
from ..output import clean

FORMS: Final = (".csv", ".parquet")


def check_table(target: Path) -> None:
    """Whether a table can be written there at all: said before anything is read. Raises UsageError."""
    if target.suffix.lower() not in FORMS:
        raise UsageError(f"{target.name[:60]!r} is no name for a table: end it in .csv or .parquet")
    if target.suffix.lower() == ".parquet":
        _arrow()
    free(target)


def write_table(columns: Columns, target: Path) -> None:
    """Write a file that was not there. Raises UsageError or Failure."""
    check_table(target)
    data = _parquet(columns) if target.suffix.lower() == ".parquet" else csv_text(columns).encode()
    put_new(target, data)


def csv_text(columns: Columns) -> str:
    """A line of names, then a line a row; numbers with a point and all their digits, empty where nothing is
    known, `true` and `false`."""
    text = io.StringIO()
    lines = csv.writer(text, lineterminator="\n")
    lines.writerow(columns)
    lines.writerows(map(_cell, row.values()) for row in rows(columns))
    return text.getvalue()


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return str(value).lower()
    return clean(value) if isinstance(value, str) else value


def _parquet(columns: Columns) -> bytes:
    arrow, parquet = _arrow()
    table = arrow.table({name: arrow.array(column, from_pandas=True) for name, column in columns.items()})
    file = io.BytesIO()
    parquet.write_table(table, file)
    return file.getvalue()


def _arrow() -> tuple[Any, Any]:
    """pyarrow and its writer of Parquet. Raises UsageError, naming the extra, where it is not installed."""
    try:
        import pyarrow
        from pyarrow import parquet
    except ImportError as error:
        raise UsageError(
            "Parquet needs one more package: pip install 'coaxly[table]'; or end the name in .csv"
        ) from error
    return pyarrow, parquet
