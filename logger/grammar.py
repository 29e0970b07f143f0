"""What one line says, by the pattern of a profile: numbers and their unit, or why it is no reading."""

import re
from dataclasses import dataclass
from typing import Final

from .profile import Profile

LARGEST: Final = 1e6
"""A larger number is no reading of an indicator or encoder in any unit."""

NO_UNIT: Final = "mm"
"""What the recording format means where neither header nor line names a unit."""

_UNITS: Final = {
    "": ("", 1.0), "mm": ("mm", 1.0), "um": ("mm", 1e-3), "µm": ("mm", 1e-3), "in": ("in", 1.0),
    "ins": ("in", 1.0), "inch": ("in", 1.0), '"': ("in", 1.0), "thou": ("in", 1e-3), "mil": ("in", 1e-3),
    "mils": ("in", 1e-3),
}  # fmt: skip
"""Words for a unit: which of the two that readings carry is meant, and how many of it."""

_NUMBERS: Final = ("value", "angle", "opposite")
_EXPONENT: Final = re.compile(r"[\d.][eE]([+-]?\d{1,3})$", re.ASCII)


@dataclass(frozen=True, slots=True)
class Said:
    """What a line says.

    value: in `unit`, "mm" or "in".
    angle: as it stands on the line, None without one.
    marked: whether an encoder's index pulse came with it, None for a pattern that knows none.
    opposite: the second indicator's value in the same unit, None without one.
    """

    value: float
    unit: str
    angle: float | None
    marked: bool | None
    opposite: float | None


def said(profile: Profile, line: bytes) -> Said | str:
    """What a line (without its end) says; text: why it is no reading ("": it is blank)."""
    match = profile.regex.fullmatch(line.decode("latin-1"))
    if match is None:
        return "not a reading" if line.strip() else ""
    groups: dict[str, str | None] = match.groupdict()
    value, angle, opposite = (number(groups.get(name), profile.signs) for name in _NUMBERS)
    if value is None or (angle is None and groups.get("angle") is not None):
        return "not a number"
    meant = _UNITS.get((groups.get("unit") or "").strip().lower())
    if meant is None:
        return "unit not known"
    if not meant[0] and not profile.unit and "unit" in groups:
        return "no unit on this line, and none was given beforehand"
    if (groups.get("flag") or "").strip():
        return "the instrument reports a fault"
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
    )


def number(text: str | None, signs: str) -> float | None:
    """A number as instruments write it, with the profile's signs, spaces and either decimal mark; None for
    what is none, or too large to be meant."""
    if text is None:
        return None
    plus, minus = signs[0], signs[1]
    plain, power = "".join(text.split()).replace(",", "."), ""
    if (exponent := _EXPONENT.search(plain)) is not None:
        plain, power = plain[: exponent.start() + 1], exponent[1]
    negative = minus in plain and minus != "."
    plain = plain.replace(plus, "", 1).replace(minus, "", 1) if plus != "." else plain
    if not plain.replace(".", "", 1).isdigit() or not plain.isascii():
        return None
    found = float(f"{plain}e{power}" if power else plain)
    if found > LARGEST:
        return None
    return 0.0 - found if negative else found
