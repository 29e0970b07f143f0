"""A page at true scale: millimetres from its upper left corner, with bars by which the printer is checked."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from coaxly.fitter.units import MM_PER_INCH

from .clockface import off
from .svg import INK, SOFT, Point, Sheet

PaperName = Literal["a4", "letter"]
MARGIN: Final = 12.0
"""What printers leave white, with something to spare, mm."""

HEAD: Final = 34.0
FOOT: Final = 32.0
"""Kept at the top for words and at the bottom for the bars, mm."""

THIN: Final = 0.15
LINE: Final = 0.3
HEAVY: Final = 0.6
BAR_MM: Final = 100.0
_SIZE: Final = 3.6


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of paper, mm."""

    name: PaperName
    width: float
    height: float

    @property
    def across(self) -> float:
        """What can be printed on from side to side."""
        return self.width - 2.0 * MARGIN

    @property
    def down(self) -> float:
        """What can be printed on between words and bars."""
        return self.height - HEAD - FOOT


PAPERS: Final[dict[PaperName, Paper]] = {
    "a4": Paper("a4", 210.0, 297.0),
    "letter": Paper("letter", 8.5 * MM_PER_INCH, 11.0 * MM_PER_INCH),
}


def page(paper: Paper, title: str, lines: Sequence[str]) -> Sheet:
    """A page with its words and the bars; lines: beneath the title, at most four."""
    sheet = Sheet(paper.width, paper.height, title, "mm")
    sheet.text((MARGIN, MARGIN + 5.0), title, 6.0, font_weight="bold")
    for k, line in enumerate(lines):
        sheet.text((MARGIN, MARGIN + 10.5 + 4.4 * k), line, _SIZE)
    _bars(sheet, paper)
    return sheet


def _bars(sheet: Sheet, paper: Paper) -> None:
    """100 mm and 4 in lying, 100 mm standing: some printers stretch one way only."""
    left, y = MARGIN + 8.0, paper.height - MARGIN - 6.0
    _bar(sheet, (left, y), (left + BAR_MM, y), 10)
    sheet.text((left + BAR_MM + 3.0, y + 1.0), "100 mm", _SIZE)
    inches = 4.0 * MM_PER_INCH
    _bar(sheet, (left, y + 6.0), (left + inches, y + 6.0), 8)
    sheet.text((left + inches + 3.0, y + 7.0), "4 in", _SIZE)
    side = MARGIN + 1.5
    foot = paper.height - MARGIN
    _bar(sheet, (side, foot - BAR_MM), (side, foot), 10)
    turned(sheet, (side + 4.0, foot - 28.0), -90.0, "100 mm", _SIZE)
    words = (
        "Print at 100 %, never fitted to the page. Measure all three bars: if one is off, so is the drawing."
    )
    sheet.text((left, y - 6.0), words, 3.2, fill=SOFT)


def _bar(sheet: Sheet, start: Point, end: Point, parts: int) -> None:
    sheet.line(start, end, stroke_width=LINE)
    length = math.dist(start, end)
    across = ((end[1] - start[1]) / length, (end[0] - start[0]) / length)
    for k in range(parts + 1):
        half = 2.0 if k in (0, parts) else 1.2
        x, y = (start[i] + (end[i] - start[i]) * k / parts for i in (0, 1))
        dx, dy = across[0] * half, across[1] * half
        sheet.line((x - dx, y - dy), (x + dx, y + dy), stroke_width=THIN)


def arc(sheet: Sheet, centre: Point, radius: float, start: float, end: float) -> None:
    """An arc from one angle clockwise to another, less than a turn further."""
    (x0, y0), (x1, y1) = off(centre, start, radius), off(centre, end, radius)
    large = 1 if (end - start) % 360.0 > 180.0 else 0
    sheet.add("path", d=f"M{x0:.3f} {y0:.3f} A{radius:.3f} {radius:.3f} 0 {large} 1 {x1:.3f} {y1:.3f}",
              fill="none", stroke=INK, stroke_width=LINE)  # fmt: skip


def turned(sheet: Sheet, place: Point, deg: float, words: str, size: float) -> None:
    """Words that are read from the middle of a circle outwards, centred on a place."""
    x, y = place
    sheet.text(
        (x, y + size / 3.0), words, size, text_anchor="middle", transform=f"rotate({deg:.2f} {x:.2f} {y:.2f})"
    )
