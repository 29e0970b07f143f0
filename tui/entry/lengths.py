"""Lengths as people write them: always with a unit, on the way in and on the way out."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final, Literal

from coaxly.fitter.units import from_mm, to_mm

from ..errors import UsageError

UNITS: Final = ("thou", "in", "mm", "um")
UNSIGNED: Final = r"(?:\d+(?:\.\d*)?|\.\d+)"
"""A number, in one way only: with two ways for each digit a line of a million would be tried for hours."""
EITHER_MARK: Final = UNSIGNED.replace(r"\.", "[.,]")
"""The same with a decimal point or a decimal comma."""
_NUMBER: Final = rf"\s*([+-]?{EITHER_MARK})\s*"
_UNIT: Final = r"(thou|mil|inch|in|\"|mm|um|µm|μm)\s*"
_LENGTH: Final = re.compile(_NUMBER + _UNIT, re.ASCII | re.I)
_ENDS_WITH: Final = re.compile(_UNIT + r"\Z", re.ASCII | re.I)
_SPELT: Final = {"inch": "in", '"': "in", "mil": "thou", "µm": "um", "μm": "um"}
"""A mil is a thousandth of an inch, as in wire and film."""
_LARGEST_MM: Final = 1e5
_DECIMALS: Final = {"thou": 1, "in": 4, "mm": 3, "um": 0}

_INCHES_FROM_THOU: Final = 100.0

DecimalMark = Literal["point", "comma"]
_mark: Final[ContextVar[DecimalMark]] = ContextVar("decimal mark", default="point")


class LengthError(UsageError, ValueError):
    """Text that is no length; says what was wrong and shows how to write one."""


def parse_length(text: str) -> float:
    """A length with its unit, such as 5thou, .005in, 0.127mm, 0,127mm or 127um, in mm. Raises LengthError."""
    match = _LENGTH.fullmatch(text)
    if match is None:
        shown, bare = text.strip()[:40], re.fullmatch(_NUMBER, text, re.ASCII)
        # Hardly anything may be nothing, so that 0mm would be refused next.
        if bare and says(shown):
            raise LengthError(f"{shown!r} has no unit: write {shown}thou or {shown}mm")
        what = "has no unit" if bare else "is no length"
        raise LengthError(f"{shown!r} {what}: write it like 5thou, .005in, 0.127mm or 127um")
    unit = match[2].lower()
    mm = to_mm(float(match[1].replace(",", ".")), _SPELT.get(unit, unit))
    if not abs(mm) <= _LARGEST_MM:
        raise LengthError(f"{text.strip()[:40]!r} is longer than anything on an engine")
    return mm


def is_length(text: str) -> bool:
    """Whether a text is a length with its unit."""
    return _LENGTH.fullmatch(text) is not None


def own_unit(reading: str) -> str:
    """The unit behind a reading, "" where there is none of ours."""
    found = _ENDS_WITH.search(reading)
    return _SPELT.get(found[1].lower(), found[1].lower()) if found else ""


def written_length(mm: float) -> str:
    """A length for a file, in the unit that it was most likely typed in: 5thou, 5.5in, 0.2mm."""
    thou = from_mm(mm, "thou")
    if abs(thou - round(thou, 2)) > 1e-9 * max(abs(thou), 1.0):
        return f"{mm:.6g}mm"
    return f"{thou:.6g}thou" if abs(thou) < _INCHES_FROM_THOU else f"{thou / 1000.0:.6g}in"


def parse_kit(text: str) -> list[float]:
    """Offsets separated by commas, in mm. Raises LengthError; an offset must be positive."""
    offsets = {part: parse_length(part) for part in map(str.strip, text.split(",")) if part}
    if not offsets:
        raise LengthError("no offsets given: write them like 5thou,10thou,15thou")
    for part, offset in offsets.items():
        if offset <= 0.0:
            raise LengthError(f"{part[:40]!r} is no offset of a dowel: write more than nothing, like 5thou")
    return list(offsets.values())


@contextmanager
def decimals(mark: DecimalMark) -> Iterator[None]:
    """Numbers that are written inside a `with` have this decimal mark. What is read always has a point."""
    before = _mark.set(mark)
    try:
        yield
    finally:
        _mark.reset(before)


def written(value: float, form: str) -> str:
    """A number by a form such as ".1f", with the decimal mark that is asked for."""
    digits = format(value, form)
    return digits.replace(".", ",") if _mark.get() == "comma" else digits


def number(mm: float, unit: str, *, signed: bool = False, finer: int = 0) -> str:
    """A length as digits in `unit`, without its name: thou to a tenth, mm to a thousandth, and so many digits
    more."""
    text = written(from_mm(mm, unit), f"{'+' if signed else ''}.{_DECIMALS[unit] + finer}f")
    # "-0.0" makes people look for a sign that is not there.
    return text if says(text) else text.replace("-", "", 1)


def says(digits: str) -> bool:
    """Whether a number is more than nothing as it is shown: "0.0" is not."""
    return any(char in "123456789" for char in digits)


def half_width(mm: float, unit: str) -> str:
    """A half-width without its sign: "0.2 thou"; "under 0.1 thou" where it would be "0.0", which nothing
    measured is."""
    text = number(mm, unit)
    return f"{text if says(text) else f'under {text[:-1]}1'} {unit}"


def plus_minus(mm: float, unit: str, finer: int = 0) -> str:
    """The half-width of an interval: "+- 0.2 thou"; never "+- 0.0", which nothing measured is."""
    text = number(mm, unit, finer=finer)
    return f"+- {text if says(text) else f'less than {text[:-1]}1'} {unit}"


def measured(mm: float, u95: float, unit: str, *, signed: bool = False, finer: int = 0) -> str:
    """A length with its interval: "5.8 +- 0.2 thou"."""
    return f"{number(mm, unit, signed=signed, finer=finer)} {plus_minus(u95, unit, finer)}"


def show_length(mm: float, unit: str, *, signed: bool = False) -> str:
    """A length with its unit: "5.8 thou"."""
    return f"{number(mm, unit, signed=signed)} {unit}"


def show_exact(mm: float, unit: str) -> str:
    """A length with its unit, or in another if only that shows all of it: a gauge step of 0.25 mm is none of
    9.8 thou."""
    for each in (unit, "mm", "thou", "in"):
        shown = from_mm(mm, each) * 10.0 ** _DECIMALS[each]
        if abs(shown - round(shown)) < 1e-6:
            return show_length(mm, each)
    return show_length(mm, unit)


def whole_degrees(deg: float) -> str:
    """The figure of a direction: "165"; what rounds to a whole turn is 0."""
    return str(round(deg) % 360)


def degrees(deg: float) -> str:
    """A direction as it is shown: "165 deg"; what rounds to a whole turn is 0."""
    return f"{whole_degrees(deg)} deg"
