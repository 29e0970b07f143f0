"""What one line says, by the pattern of a profile: numbers and their unit, or why it is no reading."""

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from ..marks import FaultKind, Mark, is_all_nines, mark_of, without_battery
from ..profile import Profile
from .checksums import fits
from .unitwords import meant as meant_by

LARGEST: Final = 1e6
"""A larger number is no reading of an indicator or encoder in any unit."""

LARGEST_COUNT: Final = 2.0**53
"""A counter may be as large as whole numbers are exact."""

NO_UNIT: Final = "mm"
"""What the recording format means where neither header nor line names a unit."""

_DEGREE: Final = re.compile(r"\s*(?:\xc2?[\xb0\xba]|(?i:deg))\s*$")
"""A degree sign behind an angle, in Latin-1 or UTF-8, or the word."""

_NUMBERS: Final = ("value", "angle", "opposite")
_REMEMBERED: Final = 2048
"""Lines: a dial at rest says one again and again, and whoever finds out how it talks looks at all anew."""

_EXPONENT: Final = re.compile(r"[\d.][eE]([+-]?\d{1,3})$", re.ASCII)


@dataclass(frozen=True, slots=True)
class Said:
    """What a line says.

    value: in `unit`, "mm" or "in".
    angle: as it stands on the line, None without one.
    marked: whether an encoder's index pulse came with it, None for a pattern that knows none.
    opposite: the second indicator's value in the same unit, None without one.
    mark, what: what the instrument says of itself beside it, "" as a rule.
    """

    value: float
    unit: str
    angle: float | None
    marked: bool | None
    opposite: float | None
    mark: FaultKind = ""
    what: str = ""


@dataclass(frozen=True, slots=True)
class Unusable:
    """A line that is no reading: why ("": it is blank), or what its instrument says of itself."""

    what: str
    mark: FaultKind = ""


@lru_cache(_REMEMBERED)
def said(profile: Profile, line: bytes, *, dial: bool = True) -> Said | Unusable:
    """What a line (without its end) says. dial: and not an encoder, whose counts may be anything."""
    text = line.decode("latin-1")
    match = profile.regex.fullmatch(text)
    mark = mark_of(text, beside=match is not None) if dial or match is None else None
    if match is None and mark == "low_battery":
        match = profile.regex.fullmatch(without_battery(text))
    if match is None and not dial:
        match = profile.regex.fullmatch(_DEGREE.sub("", text))
    if match is None:
        return _marked(mark) if mark else Unusable("not a reading" if line.strip() else "")
    groups: dict[str, str | None] = match.groupdict()
    if groups.get("unused") is not None:
        return Unusable("")
    if profile.check and not fits(
        profile.check, text[: match.start(profile.regex.groupindex["check"])], groups["check"] or ""
    ):
        return Unusable("its checksum does not fit")
    if flag := (groups.get("flag") or "").strip():
        mark = mark_of(flag) or "flagged"
    if dial and any(is_all_nines(groups.get(name) or "") for name in ("value", "opposite")):
        mark = "over_range"
    if mark and mark != "low_battery":
        return _marked(mark)
    if not dial:
        groups["value"] = _plain_count(groups["value"] or "", profile.base)
    found = _numbers(profile, groups, mark, LARGEST if dial else LARGEST_COUNT)
    if isinstance(found, Said):
        return found
    return _marked(mark) if mark else Unusable(found)


def _plain_count(text: str, base: int) -> str:
    """An encoder's value in plain digits. Of a counter of 64 bit the upper half is minus, so that one that
    stands just below nought is as exact as one just above."""
    digits = text.strip()
    try:
        whole = int(digits, base)
    except ValueError:
        return text if base == 10 else ""
    half = 1 << 63
    return str(whole - 2 * half) if half <= whole < 2 * half else text if base == 10 else str(whole)


def _marked(mark: Mark) -> Unusable:
    return Unusable(mark.replace("_", " "), mark)


def _numbers(
    profile: Profile, groups: dict[str, str | None], mark: Mark | None, largest: float
) -> Said | str:
    """The numbers of a line and their unit; text: why they are none."""
    apart = groups.get("sign")
    signs = profile.signs if apart is None else "+-"
    value, angle, opposite = (number(groups.get(name), signs, largest) for name in _NUMBERS)
    if value is not None and apart == profile.signs[1]:
        value = -value
    if value is None or (angle is None and groups.get("angle") is not None):
        return "not a number"
    meant = meant_by(groups.get("unit") or "")
    if meant is None:
        return "unit not known"
    if not meant[0] and not profile.unit and "unit" in groups:
        return "no unit on this line, and none was given beforehand"
    if opposite is None and groups.get("opposite") is not None:
        return "not a number"
    factor, index = meant[1] * profile.scale, groups.get("index")
    return Said(
        # Adding nothing makes minus nothing plain nothing, so that no way of reading a line shows.
        value=value * factor + 0.0,
        unit=meant[0] or profile.unit or NO_UNIT,
        angle=angle,
        marked=None if index is None else bool(index.strip()),
        opposite=None if opposite is None else opposite * factor + 0.0,
        mark=mark or "",
        what=mark.replace("_", " ") if mark else "",
    )


def number(text: str | None, signs: str, largest: float = LARGEST) -> float | None:
    """A number as instruments write it, with the profile's signs, spaces and either decimal mark; None for
    what is none, or too large to be meant."""
    if text is None:
        return None
    plus, minus = signs[0], signs[1]
    plain, power = "".join(text.split()).replace("\xe2\x88\x92", "-"), ""
    # Commas before a point part thousands; alone they are decimal.
    plain = plain.replace(",", "") if "." in plain else plain.replace(",", ".")
    if (exponent := _EXPONENT.search(plain)) is not None:
        plain, power = plain[: exponent.start() + 1], exponent[1]
    negative = minus in plain and minus != "."
    plain = plain.replace(plus, "", 1).replace(minus, "", 1) if plus != "." else plain
    if not plain.replace(".", "", 1).isdigit() or not plain.isascii():
        return None
    found = float(f"{plain}e{power}" if power else plain)
    if found > largest:
        return None
    return 0.0 - found if negative else found
