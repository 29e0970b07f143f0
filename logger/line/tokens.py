"""A line that nobody described, taken apart: numbers, words, units, and what stands between. Sans-IO."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal

from .unitwords import UNIT_TOKEN

Kind = Literal["escape", "control", "stamp", "unit", "number", "blank", "word", "mark", "text"]

SIGN: Final = r"(?:[+-]|\xe2\x88\x92)"
"""Plus, minus, and the minus sign of Unicode as its three bytes of UTF-8."""

_BODY: Final = {
    ".": r"(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3}(?![\w.]))?",
    ",": r"(?:\d+,\d+|,\d+|\d+)(?:[eE][+-]?\d{1,3}(?![\w.]))?",
    ",.": r"(?:[1-9]\d{0,2}(?:,\d{3})+\.\d+|\d+\.?\d*|\.\d+)",
}
"""Numbers by their decimal mark; ",." where commas part thousands."""

_BEHIND: Final = r"[ ]?[+-](?=\s*(?:$|[^\s\d.,+-]))"
_STAMP: Final = (
    r"\d{4}-\d\d-\d\d(?:[T ]\d\d:\d\d(?::\d\d(?:[.,]\d+)?)?Z?)?|\d{1,2}[./]\d{1,2}[./]\d{4}|"
    r"\d{1,2}:\d\d(?::\d\d(?:[.,]\d+)?)?(?!\d)"
)
MARKS: Final = "<>=!?*#~^@&+-"
"""Characters that may come and go: tolerance, rest, a low battery."""


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of a line. glued: nothing stands between it and the one before."""

    kind: Kind
    text: str
    glued: bool


def number_pattern(decimal: str, *, behind: bool) -> str:
    """The pattern of a number; behind: where a sign may stand behind it, if none does before."""
    body = _BODY[decimal].replace("(?![\\w.])", "")
    return rf"(?:{SIGN}\s*)?{body}(?:\s?[+-])?" if behind else rf"(?:{SIGN}\s*)?{body}"


def decimal_marks(lines: Sequence[str]) -> list[str]:
    """How the numbers of these lines may be written, the usual way first.

    Commas are decimal if no line has a point, and behind each stand as many digits, two at least: "12,34" and
    "3,07", but not "2300,5" and "2310,12". They part thousands if each stands before three digits and a
    point, and smaller numbers come without."""
    text = "\n".join(lines)
    behind = {len(digits) for digits in re.findall(r",(\d+)", text)}
    if behind and max(behind) >= 2 and len(behind) == 1 and "." not in text:
        return [".", ","]
    thousands = re.findall(r"(?<![\d,.])[1-9]\d{0,2}(?:,\d{3})+\.\d", text)
    if thousands and sum(part.count(",") for part in thousands) == text.count(","):
        return [".", ",."] if any("," not in line for line in lines) else ["."]
    return ["."]


@cache
def _pattern(decimal: str) -> re.Pattern[str]:
    body = _BODY[decimal]
    return re.compile(
        rf"(?P<escape>\x1b\[[\d;?]*[@-~])|(?P<control>[\x00-\x08\x0b-\x1f\x7f]+)|(?P<stamp>{_STAMP})|"
        rf"(?P<unit>(?i:{UNIT_TOKEN}))|"
        rf"(?P<number>{SIGN}[ \t]*{body}|{body}(?:{_BEHIND})?)|"
        rf"(?P<blank>[ \t]+)|(?P<word>[A-Za-z\x80-\xff]+)|(?P<mark>[{re.escape(MARKS)}])|(?P<text>.)"
    )


def tokens(line: str, decimal: str) -> list[Token]:
    """The pieces of a line but for its blanks, its decimal mark known; an inch mark behind a number is a
    unit."""
    found: list[Token] = []
    glued = True
    inch = _inch_marks(line)
    for match in _pattern(decimal).finditer(line):
        kind: Kind = match.lastgroup  # type: ignore[assignment]
        if kind == "blank":
            glued = False
            continue
        if kind == "text" and inch and match[0] == '"':
            kind = "unit"
        found.append(Token(kind, match[0], glued))
        glued = True
    return found


def _inch_marks(line: str) -> bool:
    """Whether the quotes of a line are inch marks: each behind a digit, and none before a number or a
    word."""
    quotes = [match.start() for match in re.finditer('"', line)]
    behind = all(re.search(r"\d\.?\s*$", line[:at]) for at in quotes)
    return bool(quotes) and behind and not any(re.match(r'"[\w+.-]', line[at:]) for at in quotes)
