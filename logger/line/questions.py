"""What remains open about an instrument's lines, and what a person may say to it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from .unitwords import meant

Role = Literal["value", "angle", "clock", "label"]
About = Literal["plunger", "which", "crank", "unit", "shows", "sign", "wraps"]
"""plunger, crank: nothing is known until it was moved. which: several numbers follow the plunger. unit: no
line says it. shows: the digits want a factor, which what stands on the display settles. sign, wraps: how it
is below nought is coded, and no answer settles that (`coded`)."""
CODED: Final = ("sign", "wraps")

_TYPED: Final = re.compile(
    r"\s*(?P<digits>[+-]?(?:\d+[.,]?\d*|[.,]\d+))\s*(?P<unit>\D*|1/\d+ ?\D+)", re.ASCII
)

NICE: Final = (1.0, 2.0, 5.0, 2.5, 1.25)
"""What one count of a display may be, times a power of ten."""


@dataclass(frozen=True, slots=True)
class Question:
    """One question. choices: the numbers to choose from, as (kind of line, number of it), each from 0, with
    what it showed last."""

    about: About
    choices: tuple[tuple[tuple[int, int], str], ...] = ()


@dataclass(frozen=True, slots=True)
class Told:
    """What a person said.

    roles: of every number of a line. which: the reading, as in `Question.choices`. unit: of the dial, "" if
    nobody said. factor: of what the display shows to what the line says, 0 if nobody said.
    minus: whether the display showed one where the line had no sign.
    still: whether nothing more will be moved, so that what is open about an angle stays out.
    """

    roles: tuple[Role, ...] | None = None
    which: tuple[int, int] | None = None
    unit: str = ""
    factor: float = 0.0
    minus: bool = False
    still: bool = False


@dataclass(frozen=True, slots=True)
class Point:
    """What a line said and what the display showed at the same time. said_step, shown_step: the smallest step
    of each, by its decimals."""

    said: float
    said_step: float
    shown: float
    shown_step: float


class OtherUnit(ValueError):
    """A person typed a reading in another unit ("mm" or "in") than the dial has."""

    def __init__(self, typed: str, has: str) -> None:
        super().__init__(typed)
        self.typed, self.has = typed, has


def typed(text: str, unit: str) -> tuple[str, float, float]:
    """What a person typed of a display: its digits, the value in a unit (a word of the line, "" where nobody
    knows it), and the factor from the digits to that. Raises ValueError for what is no number, OtherUnit for
    one of the other kind."""
    match = _TYPED.fullmatch(text.replace("\u03bc", "u"))
    said, here = meant(match["unit"]) if match is not None else None, meant(unit)
    if match is None or said is None:
        raise ValueError(text)
    times = 1.0
    if said[0] and here is not None and here[0]:
        if here[0] != said[0]:
            raise OtherUnit(said[0], here[0])
        times = said[1] / here[1]
    return match["digits"], float(match["digits"].replace(",", ".")) * times, times


def step_of(text: str) -> float:
    """The smallest step of a number, by its decimals."""
    plain = text.replace(",", ".").strip("+- ")
    mantissa, _, power = plain.lower().partition("e")
    return 10.0 ** (int(power or 0) - len(mantissa.partition(".")[2]))


def factor_of(points: Sequence[Point]) -> float:
    """The factor from what lines say to what the display shows; 0 where it cannot be told.

    One point will do where the display shows nought when the line does; two that differ always. Only counts
    of 1, 1.25, 2, 2.5 or 5 times a power of ten are believed (common practice, no source)."""
    last = points[-1]
    said, shown = last.said, last.shown
    if len(points) > 1:
        said, shown = said - points[0].said, shown - points[0].shown
    fitting = []
    for size in range(-7, 4):
        for nice in NICE:
            factor = nice * 10.0**size
            room = 0.5 * len(points) * (last.shown_step + factor * last.said_step)
            fitting += [
                way * factor for way in (1.0, -1.0) if abs(said * way * factor - shown) <= 1.001 * room
            ]
    return fitting[0] if len(fitting) == 1 else 0.0
