"""A line of an instrument is constant text and fields of numbers: taking it apart, and telling how each field
behaves from one line to the next. Sans-IO, and no knowledge of any instrument.
"""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

Behaviour = Literal["stays", "counts up", "moves"]

_POINT: Final = r"(?:[+-][ \t]*)?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_COMMA: Final = r"(?:[+-][ \t]*)?(?:\d+,\d+|,\d+|\d+)(?:[eE][+-]?\d+)?"
_UNITS: Final = r"mm|inch|in|thou|mils|mil|um|\xb5m"
_UNIT_WORD: Final = re.compile(rf"(?<![A-Za-z])(?i:{_UNITS})(?![A-Za-z])")
_QUOTE: Final = re.compile(r'^\s*"\s*$')
UNIT: Final = "\0"
"""What stands for a unit's word in the text of a line."""


@dataclass(frozen=True, slots=True)
class Field:
    """One number of every line, as it was sent: its texts and values, in order of time."""

    texts: tuple[str, ...]
    values: tuple[float, ...]

    @property
    def behaviour(self) -> Behaviour:
        """Whether it stays, counts up by steps of much one size, or moves in some other way."""
        steps = [b - a for a, b in pairwise(self.values)]
        if not any(steps):
            return "stays"
        # A clock runs on by steps of much one size, and begins anew at most once.
        forward = sorted(step for step in steps if step >= 0.0)
        middle = forward[len(forward) // 2] if forward else 0.0
        steady = sum(0.3 * middle <= step <= 3.0 * middle for step in steps)
        runs_on = middle > 0.0 and len(steps) - len(forward) <= len(steps) // 20
        return "counts up" if len(steps) >= 3 and runs_on and steady >= 0.9 * len(steps) else "moves"

    @property
    def turns(self) -> bool:
        """Whether its values are those of degrees that come round: within a turn, and back to nothing."""
        drops = [b - a for a, b in pairwise(self.values) if b < a]
        return all(abs(v) <= 360.0 for v in self.values) and any(drop < -180.0 for drop in drops)

    @property
    def plain(self) -> bool:
        """Whether it is digits and nothing else: no sign, no decimals."""
        return all(text.isdigit() for text in self.texts)


@dataclass(frozen=True, slots=True)
class Shape:
    """What most lines have in common: texts (one more than fields), decimal mark, the fields; share: of the
    lines that have it; unit: whether a unit's word stands in the texts (as UNIT)."""

    texts: tuple[str, ...]
    decimal: str
    fields: tuple[Field, ...]
    share: float
    lines: int

    @property
    def number(self) -> str:
        """The pattern of a number of it."""
        return (_COMMA if self.decimal == "," else _POINT).replace("[ \\t]", r"\s")


def shape_of(lines: Sequence[str]) -> Shape | None:
    """The shape that most of the lines have; None where no line holds a number."""
    best: Shape | None = None
    for decimal in (".", ","):
        if decimal == "," and not _commas_are_decimal(lines):
            continue
        apart = [_apart(line, decimal) for line in lines]
        counts = Counter(texts for texts, numbers in apart if numbers)
        if not counts:
            continue
        texts, count = counts.most_common(1)[0]
        rows = [numbers for found, numbers in apart if found == texts]
        columns = tuple(
            Field(tuple(column), tuple(_value(text) for text in column)) for column in zip(*rows, strict=True)
        )
        shape = Shape(texts, decimal, columns, count / len(lines), len(lines))
        if best is None or shape.share > best.share or (shape.share == best.share and decimal == ","):
            best = shape
    return best


def _commas_are_decimal(lines: Sequence[str]) -> bool:
    """Commas between digits are decimal if no line has a point, and behind each stand as many digits, two at
    least: "12,34" and "3,07", but not "2300,5" and "2310,12"."""
    text = "\n".join(lines)
    behind = {len(digits) for digits in re.findall(r",(\d+)", text)}
    return "." not in text and len(behind) == 1 and behind.pop() >= 2


def _apart(line: str, decimal: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Texts and numbers of a line; blanks at its ends do not count."""
    number = re.compile(_COMMA if decimal == "," else _POINT)
    texts, numbers, at = [], [], 0
    line = line.strip()
    for match in number.finditer(line):
        texts.append(line[at : match.start()])
        numbers.append(match[0])
        at = match.end()
    texts.append(line[at:])
    marked = [_with_unit(text, last=k == len(texts) - 1) for k, text in enumerate(texts)]
    return tuple(marked), tuple(numbers)


def _with_unit(text: str, *, last: bool) -> str:
    if last and _QUOTE.match(text):
        return UNIT
    return " ".join(_UNIT_WORD.sub(UNIT, text).split())


def _value(text: str) -> float:
    return float("".join(text.split()).replace(",", "."))
