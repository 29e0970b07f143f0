"""Readings that were written down: lines of a file or a pipe, and tables (CSV)."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from coaxly.fitter import Setup
from coaxly.fitter.geometry import InternalDeg
from coaxly.logger.line.grammar import Said, said
from coaxly.logger.profile import Profile

from ..errors import UsageError
from .lengths import EITHER_MARK, UNITS, own_unit
from .tabletext import table_rows, table_text

_LARGEST: Final = 4 * 1024 * 1024
_NUMBER: Final = rf"[+-]?{EITHER_MARK}"
_BARE: Final = re.compile(rf"\s*[+-]?\s*{EITHER_MARK}\s*", re.ASCII)
_PAIR: Final = re.compile(rf"\s*({_NUMBER}|\d{{1,2}}:\d\d)(?:\s*deg)?[\s;]++([+-]?\s*[\d.,].*)", re.ASCII)
_CLOCK: Final = re.compile(r"\s*(\d{1,2}):([0-5]\d)\s*", re.ASCII)
_HOUR: Final = re.compile(r"[1-9]|1[0-2]", re.ASCII)
"""Degrees, or an hour among places on the clock."""
_READING: Final = re.compile(rf"reading[\s_]*[(\[]?\s*({'|'.join(UNITS)})?\s*[)\]]?", re.I)
_ANGLE: Final = re.compile(r"angle[\s_]*[(\[]?\s*(?:deg|degrees)?\s*[)\]]?", re.I)
_MOST_DEG: Final = 360.0
_FEWEST: Final = 3
_LONGEST: Final = 80


@dataclass(frozen=True, slots=True)
class Written:
    """A reading as it was written, its unit behind it where it has one; deg: where, as the scale counts,
    None for the place that is due. clock: whether it was a place on the clock, which is seen from behind."""

    text: str
    deg: float | None = None
    clock: bool = False

    def placed(self, setup: Setup) -> "Written":
        """The same where the scale of a sweep has it."""
        if not self.clock or self.deg is None:
            return self
        return Written(self.text, setup.entered_deg(InternalDeg(self.deg)))


def written_line(line: str, unit: str) -> Written:
    """One line: a reading, or an angle (degrees, or a place on the clock) and a reading. unit: of a number
    that has none, "" if it needs one. Raises UsageError for an angle beyond a turn, such as an encoder's
    count."""
    if (pair := _PAIR.fullmatch(line)) is not None:
        return Written(_with_unit(pair[2], unit), *_place("what was typed", pair[1]))
    return Written(_with_unit(line, unit))


def is_reading(text: str, profile: Profile) -> bool:
    """Whether a sweep will understand it: asked of what reads the lines of the recording."""
    return len(text) <= _LONGEST and isinstance(said(profile, text.encode("latin-1", "replace")), Said)


def load_table(path: Path, unit: str, profile: Profile) -> list[Written]:
    """The readings of a table, in order. Its first line names the columns: angle (degrees, or 4:30) and
    reading; the unit stands behind the reading, in a column unit, in the name of the column (reading_thou),
    or is `unit`.

    Raises UsageError, naming the line.
    """
    table = table_rows(path, table_text(path, _LARGEST))
    keys, named = _columns(path, next(table, (1, []))[1])
    lines = [(f"{path}, line {line}", row) for line, row in table]
    rows = [_row(where, row, keys, named, unit, profile) for where, row in lines]
    if any(row.clock for row in rows):
        for where, cells in lines:
            if _HOUR.fullmatch(hour := cells[keys.index("angle")].strip()):
                raise UsageError(
                    f"{where}: angle is {hour!r} among places on the clock: write {hour}:00 for the hour, or "
                    f"{hour}.0 for degrees"
                )
    if len({row.deg for row in rows}) < _FEWEST:
        raise UsageError(f"{path}: fewer than three places were read, which no circle goes through")
    return rows


def _columns(path: Path, names: list[str]) -> tuple[list[str], str]:
    """Which column is which, and the unit in the name of the readings'."""
    found: list[str] = []
    named = ""
    for name in names:
        reading = _READING.fullmatch(name)
        key = "reading" if reading else "angle" if _ANGLE.fullmatch(name) else name.lower()
        if key not in ("reading", "angle", "unit") or key in found:
            raise UsageError(
                f"{path}: column {name[:40]!r} is not understood: the first line names angle, reading, "
                "and perhaps unit"
            )
        found.append(key)
        named = (reading[1] or "").lower() if reading else named
    for need in ("angle", "reading"):
        if need not in found:
            raise UsageError(f"{path}: the column {need} is missing; its first line must name the columns")
    return found, named


def _row(where: str, row: list[str], keys: list[str], named: str, unit: str, profile: Profile) -> Written:
    if len(row) != len(keys):
        raise UsageError(f"{where}: it has {len(row)} values, the first line names {len(keys)} columns")
    cells = dict(zip(keys, row, strict=True))
    own = cells.get("unit", "").lower()
    if own and own not in UNITS:
        raise UsageError(f"{where}: unit is {own[:20]!r}: use thou, in, mm or um")
    units = {unit for unit in (own, named, own_unit(cells["reading"])) if unit}
    if len(units) > 1:
        raise UsageError(
            f"{where}: two units, {' and '.join(sorted(units))}, contradict each other: leave one of them out"
        )
    text = _with_unit(cells["reading"], own or named or unit)
    if _BARE.fullmatch(text):
        raise UsageError(f"{where}: {text[:24]!r} has no unit: add a column unit, or give --unit")
    if not is_reading(text, profile):
        raise UsageError(f"{where}: {text[:24]!r} is no reading: write it like 14.9thou or 0.378mm")
    return Written(text, *_place(where, cells["angle"]))


def _place(where: str, text: str) -> tuple[float, bool]:
    """Degrees, and whether they are those of a place on the clock. Raises UsageError."""
    if (clock := _CLOCK.fullmatch(text)) is not None and int(clock[1]) <= 12:
        return (30.0 * int(clock[1]) + int(clock[2]) / 2.0) % 360.0, True
    number = re.fullmatch(rf"\s*({_NUMBER})\s*", text, re.ASCII)
    if number is None or abs(float(number[1].replace(",", "."))) > _MOST_DEG:
        raise UsageError(
            f"{where}: angle is {text.strip()[:20]!r}: write degrees, such as 45, "
            "or a place on the clock, such as 1:30"
        )
    return float(number[1].replace(",", ".")), False


def _with_unit(text: str, unit: str) -> str:
    return f"{text.strip()}{unit}" if unit and _BARE.fullmatch(text) else text
