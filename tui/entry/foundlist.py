"""Found vectors that a shop has noted in a table (CSV), one job a line."""

import csv
import math
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Final

from fitter.geometry import Vector, polar
from fitter.shop.ledger import Found
from fitter.units import MM_PER_THOU, MM_PER_UNIT
from logger.files import read_small

from ..errors import UsageError

_LARGEST: Final = 16 * 1024 * 1024
_NEEDED: Final = ("block_family", "housing_family", "unit")
_KNOWN: Final = frozenset(
    (*_NEEDED, "block", "housing", "tir", "high_deg", "x", "y", "u95", "date", "fitted_x", "fitted_y", "job")
)
_USUAL_U95_MM: Final = 0.6 * MM_PER_THOU
"""Of x and of y, where a line does not say: common practice, no source."""


def load_found(path: Path) -> list[Found]:
    """The jobs of a table. Raises UsageError, naming the line.

    Columns: block_family, housing_family, unit (thou, in, mm, um); block and housing (serials, or empty);
    tir with high_deg (where a dial in the bore read highest, degrees from behind), or x and y of the bore's
    centre; u95 (95 % half-width of x and y), date (2026-11-25), fitted_x and fitted_y (what dowels in place
    had moved the housing by), job.
    """
    try:
        text = read_small(path, _LARGEST).decode("utf-8-sig")
    except OSError as error:
        raise UsageError(f"{path}: {error.strerror or error}") from error
    except UnicodeDecodeError as error:
        raise UsageError(f"{path}: this is no text in UTF-8: save the table as CSV (UTF-8)") from error
    rows = csv.DictReader(text.splitlines(), strict=True)
    try:
        _columns(path, [name.strip().lower() for name in rows.fieldnames or ()])
        return [_job(f"{path}, line {rows.line_num}", row) for row in rows if any(map(_filled, row.values()))]
    except csv.Error as error:
        raise UsageError(f"{path}, line {rows.line_num}: {error}") from error


def _filled(value: object) -> bool:
    return bool(value if isinstance(value, list) else str(value or "").strip())


def _columns(path: Path, names: list[str]) -> None:
    if missing := [name for name in _NEEDED if name not in names]:
        raise UsageError(f"{path}: the column {missing[0]} is missing; its first line must name the columns")
    if unknown := [name for name in names if name not in _KNOWN]:
        raise UsageError(f"{path}: unknown column {unknown[0][:40]!r}; use {', '.join(sorted(_KNOWN))}")
    if not ({"tir", "high_deg"} <= set(names) or {"x", "y"} <= set(names)):
        raise UsageError(f"{path}: the columns tir and high_deg, or x and y, are missing")


def _job(where: str, row: Mapping[str | None, object]) -> Found:
    if None in row:
        raise UsageError(f"{where}: there are more values than columns")
    cells = {str(name).strip().lower(): str(value or "").strip() for name, value in row.items()}
    for name in _NEEDED:
        if not cells[name]:
            raise UsageError(f"{where}: {name} is empty")
    if cells["unit"].lower() not in MM_PER_UNIT:
        raise UsageError(f"{where}: unit is {cells['unit'][:20]!r}: use thou, in, mm or um")
    mm = MM_PER_UNIT[cells["unit"].lower()]
    x, y = _vector(where, cells)
    left_x, left_y = (
        _number(where, cells, name) if cells.get(name) else 0.0 for name in ("fitted_x", "fitted_y")
    )
    u95 = _number(where, cells, "u95") * mm if cells.get("u95") else _USUAL_U95_MM
    if u95 <= 0.0:
        raise UsageError(f"{where}: u95 must be more than nothing")
    variance = (u95 / 1.96) ** 2
    return Found(
        block_family=cells["block_family"],
        block=cells.get("block", ""),
        housing_family=cells["housing_family"],
        housing=cells.get("housing", ""),
        vector=((x - left_x) * mm, (y - left_y) * mm),
        covariance=((variance, 0.0), (0.0, variance)),
        day=_day(where, cells.get("date", "")),
        job=cells.get("job", "") or where,
    )


def _vector(where: str, cells: Mapping[str, str]) -> Vector:
    """E in the unit of the line: a dial in a bore reads highest where the wall is close."""
    if cells.get("tir"):
        if cells.get("x") or cells.get("y"):
            raise UsageError(f"{where}: give tir and high_deg, or x and y, not both")
        tir = _number(where, cells, "tir")
        if tir < 0.0:
            raise UsageError(f"{where}: tir must not be less than nothing")
        return polar(tir / 2.0, _number(where, cells, "high_deg") + 180.0)
    return _number(where, cells, "x"), _number(where, cells, "y")


def _number(where: str, cells: Mapping[str, str], name: str) -> float:
    text = cells.get(name, "")
    try:
        value = float(text)
    except ValueError:
        said = f"{name} is {text[:20]!r}, no number" if text else f"{name} is empty"
        raise UsageError(f"{where}: {said}") from None
    if not math.isfinite(value) or abs(value) > 1e5:
        raise UsageError(f"{where}: {name} is {text[:20]!r}, more than any engine can have")
    return value


def _day(where: str, text: str) -> float | None:
    if not text:
        return None
    try:
        return float(date.fromisoformat(text).toordinal())
    except ValueError:
        raise UsageError(f"{where}: date is {text[:20]!r}: write it like 2026-11-25") from None
