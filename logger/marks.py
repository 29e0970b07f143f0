"""What an instrument says of itself, in place of a reading or beside it: ends of its display, modes, errors.

No knowledge of any instrument: these are the words and numbers by which displays in general say so (common
practice, no source).
"""

import re
from typing import Final, Literal, cast, get_args

Mark = Literal["over_range", "held", "extreme", "low_battery", "instrument_error", "flagged"]
"""over_range: there is no number to show, the plunger is beyond its travel or the count is lost. held: the
number is an old one. extreme: the number is the largest or smallest so far. flagged: something else, by a
word that only its maker knows."""

FaultKind = Mark | Literal["rezeroed", "unit_switched", ""]
"""What a fault says of the instrument, or of what was done to it; "" where it says nothing."""

MARKS: Final[tuple[Mark, ...]] = get_args(Mark)

_WORDS: Final[dict[Mark, str]] = {
    "over_range": r"(?:over|under)[ _-]?(?:range|flow|load|limit)?|out[ _]of[ _]range|ovf|ofl|[o0]l|o\.l\.?",
    "held": r"hold|hld|held|frozen",
    "extreme": r"max|min|peak",
    "low_battery": r"(?:lo|low|weak)[ _-]?bat(?:t|tery)?|bat(?:t|tery)?[ _:=-]*(?:lo|low|weak|empty)",
    "instrument_error": r"err(?:or)?[ :_-]*\d*|fail(?:ure)?|alarm",
}
_WORD: Final = re.compile(
    "|".join(rf"(?P<{mark}>(?<![A-Za-z0-9.])(?:{words})(?![A-Za-z]))" for mark, words in _WORDS.items()),
    re.IGNORECASE,
)
_WHOLE: Final[tuple[tuple[Mark, re.Pattern[str]], ...]] = (
    ("over_range", re.compile(r"[\s+.]*[-_*=][-_*=.\s]*[-_*=][-_*=.\s]*")),
    ("instrument_error", re.compile(r"\W*E[ -]?\d{1,3}\W*", re.IGNORECASE)),
    ("low_battery", re.compile(r"\W*bat(?:t|tery)?\W*", re.IGNORECASE)),
)
"""What means something only where nothing else stands on the line."""
_VALUE: Final = re.compile(r"[\"']?\s*[:=]|\s*[+-]?\s*\.?\d")
_NINES: Final = re.compile(
    r"[^\d.,]*(?:0*(?=(?:[.,]?9){4})99+(?:[.,]9{0,6})?|9[.,]9{3,6}|(?=(?:[.,]?9){5})9+[.,]9{1,6}0+)\s*"
)
"""Of one digit before the point only where there is room for no other: "09.999" is a number."""
_HELD_LETTER: Final = re.compile(r".*\d\s*(?:mm|in|\")?\s*H\s*", re.DOTALL)
"""A display that stands still marks its number with an H behind it, where it has no room for the word."""

ALL_NINES: Final = frozenset(
    float("9" * before + "." + "9" * behind)
    for before in range(1, 7)
    for behind in range(7)
    if before + behind >= 4
)
"""Four nines or more, one of them before the point: where a display ends, whatever its width."""

LEAST_NINES: Final = min(ALL_NINES)


def mark_of(text: str, *, beside: bool = False) -> Mark | None:
    """What a line says of its instrument; None where it says nothing. beside: the line is otherwise
    understood, so that a word with a value of its own (`"max": 1.834`) is a name, and no mark."""
    for found in _WORD.finditer(text):
        if not (beside and _VALUE.match(text, found.end())):
            return cast(Mark, found.lastgroup)
    if _HELD_LETTER.fullmatch(text):
        return "held"
    return None if beside else next((mark for mark, whole in _WHOLE if whole.fullmatch(text)), None)


def without_battery(text: str) -> str:
    """The line without its words about a low battery: the number beside them is as good as any."""
    return _WORD.sub(lambda found: "" if found.lastgroup == "low_battery" else found[0], text)


def is_all_nines(text: str) -> bool:
    """Whether a number, as it was sent, is the end of a display."""
    return _NINES.fullmatch(text) is not None
