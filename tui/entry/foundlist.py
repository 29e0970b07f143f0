"""Found vectors that a shop has noted in a table (CSV), one job a line."""

import math
import re
from collections.abc import Mapping
from datetime import date
from itertools import zip_longest
from pathlib import Path
from typing import Final

from coaxly.fitter.geometry import Vector, polar
from coaxly.fitter.shop.ledger import Found
from coaxly.fitter.units import MM_PER_THOU, MM_PER_UNIT

from ..errors import UsageError
from .tabletext import parted_by, table_rows, table_text

_LARGEST: Final = 16 * 1024 * 1024
_NEEDED: Final = ("block_family", "housing_family", "unit")
_KNOWN: Final = frozenset(
    (*_NEEDED, "block", "housing", "tir", "high_deg", "x", "y", "u95", "date", "fitted_x", "fitted_y", "job")
)
_DECIMAL: Final = re.compile(r"^([+-]?\d*),(\d+)$", re.ASCII)
_FARTHEST_MM: Final = 10.0
"""No housing that goes onto its dowels is off by as much (common practice, no source)."""

_USUAL_U95_MM: Final = 0.6 * MM_PER_THOU
"""Of x and of y, where a line does not say: common practice, no source."""


def load_found(path: Path) -> list[Found]:
    """The jobs of a table. Raises UsageError, naming the line.

    Columns: block_family, housing_family, unit (thou, in, mm, um); block and housing (serials, or empty);
    tir with high_deg (where a dial in the bore read highest, degrees from behind), or x and y of the bore's
    centre; u95 (95 % half-width of x and y), date (2026-11-25), fitted_x and fitted_y (what dowels in place
    had moved the housing by), job. A table with semicolons or tabs may write decimal commas.
    """
    text = table_text(path, _LARGEST)
    commas = parted_by(text) == ","
    rows = table_rows(path, text)
    jobs: list[Found] = []
    seen: dict[tuple[str, ...], int] = {}
    names: list[str] = []
    for line, row in rows:
        where = f"{path}, line {line}"
        if not names:
            names = [name.lower() for name in row]
            _check_columns(where, names)
            continue
        if len(row) > len(names):
            hint = ": a decimal comma? write a point, or part the columns by semicolons"
            raise UsageError(f"{where}: there are more values than columns{hint * commas}")
        if (first := seen.setdefault(tuple(row), line)) != line:
            raise UsageError(f"{where} is line {first} again: take one out, or name both in a column job")
        values = row if commas else [_DECIMAL.sub(r"\1.\2", value) for value in row]
        jobs.append(_job(where, dict(zip_longest(names, values, fillvalue=""))))
    if not names:
        raise UsageError(f"{path} is empty: its first line must name the columns, each other line is a job")
    if not jobs:
        raise UsageError(f"{path} names its columns, but holds no job: each line after the first is one")
    return jobs


def _check_columns(where: str, names: list[str]) -> None:
    if missing := [name for name in _NEEDED if name not in names]:
        raise UsageError(f"{where}: the column {missing[0]} is missing; the first line must name the columns")
    if unknown := [name for name in names if name not in _KNOWN]:
        raise UsageError(f"{where}: unknown column {unknown[0][:40]!r}; use {', '.join(sorted(_KNOWN))}")
    if twice := [name for k, name in enumerate(names) if name in names[:k]]:
        raise UsageError(f"{where}: there are two columns {twice[0]}: take one out")
    if not ({"tir", "high_deg"} <= set(names) or {"x", "y"} <= set(names)):
        raise UsageError(f"{where}: the columns tir and high_deg, or x and y, are missing")


def _job(where: str, cells: Mapping[str, str]) -> Found:
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
    if math.hypot(x * mm, y * mm) > _FARTHEST_MM:
        size = f"{math.hypot(x, y):g} {cells['unit']}"
        raise UsageError(f"{where}: {size} is farther than any housing is off: is the unit right?")
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
        deg = _number(where, cells, "high_deg")
        if abs(deg) > 360.0:
            raise UsageError(f"{where}: high_deg is {deg:g}: degrees clockwise from 12, seen from behind")
        return polar(tir / 2.0, deg + 180.0)
    return _number(where, cells, "x"), _number(where, cells, "y")


def _number(where: str, cells: Mapping[str, str], name: str) -> float:
    text = cells.get(name, "")
    try:
        value = float(text)
    except ValueError:
        said = f"{name} is {text[:20]!r}, no number" if text else f"{name} is empty"
        if text[:1].isdigit() and text.rstrip()[-1:].isalpha():
            said += ": the unit belongs into the column unit"
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
