"""Words for a length as instruments write them, in whatever bytes their micro sign comes."""

from typing import Final

_UNITS: Final = {
    "": ("", 1.0), "mm": ("mm", 1.0), "cm": ("mm", 10.0), "um": ("mm", 1e-3), "u": ("mm", 1e-3),
    "micron": ("mm", 1e-3), "microns": ("mm", 1e-3), "in": ("in", 1.0), "ins": ("in", 1.0),
    "inch": ("in", 1.0), "inches": ("in", 1.0), '"': ("in", 1.0), "thou": ("in", 1e-3), "mil": ("in", 1e-3),
    "mils": ("in", 1e-3), "uin": ("in", 1e-6), "microinch": ("in", 1e-6), "1/100mm": ("mm", 1e-2),
    "1/1000mm": ("mm", 1e-3), "1/1000in": ("in", 1e-3),
}  # fmt: skip
"""Words for a unit: which of the two that readings carry is meant, and how many of it."""

_MU: Final = r"(?:\xc2?\xb5|\xce\xbc)"
_WORDS: Final = (
    rf"1/10{{2,3}}\s*(?:mm|in)|mm|cm|inch(?:es)?|ins?|thou|mils?|microns?|microinch|u(?:m|in)|{_MU}(?:m|in)?"
)
UNIT_PATTERN: Final = rf"(?P<unit>(?i:{_WORDS})|\")"
"""The group of a profile's pattern that holds the unit: all of them, since a dial may be switched over."""

UNIT_TOKEN: Final = (
    rf"(?:(?<![A-Za-z\x80-\xff])(?:{_WORDS})(?![A-Za-z\x80-\xff])|(?<=\d)(?-i:mm|in|um)(?=[A-Z]{{1,3}}\b))"
)
"""The same in a line that nobody described: a word by itself, or small letters between a number and
capitals."""

OTHER_LENGTHS: Final = frozenset({"m", "dm", "km", "nm", "ft", "yd", "th", "zoll", "div", "digit", "digits"})
"""Words behind a number that may be units, and cannot be trusted to be: what the display shows tells."""


def meant(word: str) -> tuple[str, float] | None:
    """Which of "mm" and "in" ("" for no word) is meant, and how many of it; None for a word of another
    kind."""
    plain = word.replace("\xc2\xb5", "u").replace("\xce\xbc", "u").replace("\xb5", "u")
    return _UNITS.get("".join(plain.split()).lower())
