"""Drawings for paper: a sheet of SVG elements, and a straight axis with its marks.

Everything goes through an XML tree, so no text of a job can become markup. Lengths are in units of the sheet
(CSS pixels at full size), y grows downwards. Text stays text: it is found, read aloud and printed sharply.
"""

import math
from dataclasses import dataclass
from typing import Final
from xml.etree import ElementTree

from ..output import clean
from .clockface import HOURS, off

INK: Final = "#1c2430"
SOFT: Final = "#5d6875"
FAINT: Final = "#c9ced6"
PAPER: Final = "#ffffff"
BLUE: Final = "#1f5f99"
RED: Final = "#b3261e"
GREEN: Final = "#1d6b3a"
AMBER: Final = "#8a5a00"
"""Each reads on white paper (contrast over 4.5 but for FAINT), and none says anything alone."""

FONT: Final = "Libertinus Serif, Georgia, 'Times New Roman', serif"
_SPACE: Final = "http://www.w3.org/2000/svg"

Point = tuple[float, float]
Value = str | float
_STROKE: Final[dict[str, Value]] = {"stroke": INK, "stroke_width": 1.0}
_OUTLINE: Final = _STROKE | {"fill": "none"}


class Sheet:
    """Elements in the order in which they are drawn. Attributes are named as in SVG, "_" for "-"."""

    def __init__(self, width: float, height: float, label: str, unit: str = "") -> None:
        """label: what the picture shows, for who cannot see it. unit: "mm" for a sheet of true size."""
        self.width, self.height = width, height
        self._root = ElementTree.Element(
            "svg",
            {
                "xmlns": _SPACE,
                "viewBox": f"0 0 {_digits(width)} {_digits(height)}",
                "width": _digits(width) + unit,
                "height": _digits(height) + unit,
                "role": "img",
                "aria-label": clean(label),
                "font-family": FONT,
            },
        )

    def add(self, name: str, **attributes: Value) -> ElementTree.Element:
        """Any element."""
        return ElementTree.SubElement(
            self._root, name, {key.replace("_", "-"): _digits(value) for key, value in attributes.items()}
        )

    def line(self, start: Point, end: Point, **look: Value) -> None:
        """A straight line."""
        self.add("line", x1=start[0], y1=start[1], x2=end[0], y2=end[1], **_STROKE | look)

    def cross(self, centre: Point, arm: float, **look: Value) -> None:
        """A lying and a standing line through a place."""
        x, y = centre
        self.line((x - arm, y), (x + arm, y), **look)
        self.line((x, y - arm), (x, y + arm), **look)

    def path(self, points: list[Point], *, closed: bool = False, **look: Value) -> None:
        """Straight lines through points; filled with nothing unless asked for."""
        ways = " L".join(f"{_digits(x)} {_digits(y)}" for x, y in points)
        self.add("path", d=f"M{ways}{' Z' if closed else ''}", **_OUTLINE | look)

    def circle(self, centre: Point, radius: float, **look: Value) -> None:
        """A circle; filled with nothing unless asked for."""
        self.add("circle", cx=centre[0], cy=centre[1], r=radius, **_OUTLINE | look)

    def text(self, at: Point, words: str, size: float = 12.0, **look: Value) -> None:
        """Words that begin at a point; text_anchor "middle" or "end" for elsewhere."""
        element = self.add("text", x=at[0], y=at[1], font_size=size, **{"fill": INK, **look})
        element.text = clean(words)

    def hours(self, centre: Point, distance: float, size: float = 14.0, **look: Value) -> None:
        """12, 3, 6 and 9 so far from the middle of a clock."""
        for hour, deg in HOURS:
            x, y = off(centre, deg, distance)
            self.text((x, y + round(size / 3.0)), hour, size, text_anchor="middle", **look)

    def arrow(self, start: Point, end: Point, colour: str = INK, width: float = 2.0) -> None:
        """A line with a head at its end; the head alone where there is no room for more."""
        length = math.dist(start, end)
        if length < 1e-9:
            return
        head = min(4.5 * width, length)
        x, y = (end[0] - start[0]) / length, (end[1] - start[1]) / length
        neck = (end[0] - head * x, end[1] - head * y)
        half = 0.45 * head
        if length > head:
            self.line(start, neck, stroke=colour, stroke_width=width)
        wings = [(neck[0] - half * y, neck[1] + half * x), (neck[0] + half * y, neck[1] - half * x)]
        self.path([end, *wings], closed=True, fill=colour, stroke="none")

    def markup(self) -> str:
        """The whole sheet as one SVG element."""
        return ElementTree.tostring(self._root, encoding="unicode")


@dataclass(frozen=True, slots=True)
class Axis:
    """A straight scale: values from `low` to `high` lie from `start` to `end` on the sheet."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Where a value lies."""
        share = (value - self.low) / (self.high - self.low) if self.high != self.low else 0.5
        return self.start + share * (self.end - self.start)

    def marks(self, most: int = 6) -> list[float]:
        """Round values within, at most so many: steps of 1, 2 or 5 times a power of ten."""
        span = self.high - self.low
        if not (math.isfinite(span) and span > 0.0):
            return [self.low]
        power = 10.0 ** math.floor(math.log10(span / most))
        step = next(
            power * k for k in (1.0, 2.0, 5.0, 10.0, 20.0) if span / (power * k) <= most - 1 or k > 10
        )
        first, last = math.ceil(self.low / step - 1e-9), math.floor(self.high / step + 1e-9)
        return [k * step for k in range(first, last + 1)]


def _digits(value: Value) -> str:
    """A number short, without an exponent or "-0"; text as it is."""
    if isinstance(value, str):
        return clean(value)
    shown = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if shown in ("-0", "") else shown
