"""Cards at true scale: a ring the size of each dowel with the place of its mark, and shims by bolt.

Everything is drawn as it is seen from behind, 12 o'clock up.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coaxly.fitter.geometry import difference

from .clockface import off
from .page import HEAD, HEAVY, LINE, MARGIN, THIN, Paper, page, turned
from .svg import FAINT, INK, SOFT, Point, Sheet

_CARD: Final = (88.0, 124.0)
_WORDS: Final = 30.0
"""Of a card's height, for what stands on it; the drawing has the rest."""

_TICKS_OUT: Final = 6.0
_ARROW: Final = 9.0
LARGEST_MM: Final = 36.0


@dataclass(frozen=True, slots=True)
class DowelCard:
    """One dowel: its diameter, mm; where its mark, its high side and the line through the holes point, in
    degrees clockwise from 12 (None without holes); where the line goes, and what stands on the card."""

    diameter: float
    mark_deg: float
    high_deg: float
    line_deg: float | None
    line_words: str
    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BoltCard:
    """One bolt: its place from the crank's axis (mm, x right, y up) and by the clock; what goes under it."""

    place: Point
    name: str
    clock: str
    words: str


def dowel_page(cards: Sequence[DowelCard], paper: Paper, title: str, lines: Sequence[str]) -> str:
    """The cards of the two dowels side by side, as SVG."""
    sheet = page(paper, title, lines)
    gap = (paper.across - 2.0 * _CARD[0]) / 3.0
    for k, card in enumerate(cards):
        left = MARGIN + gap + k * (_CARD[0] + gap)
        _dowel(sheet, (left, HEAD + 6.0), card)
    return sheet.markup()


def _dowel(sheet: Sheet, corner: Point, card: DowelCard) -> None:
    wide, high = _CARD
    sheet.add("rect", x=corner[0], y=corner[1], width=wide, height=high, fill="none", stroke=SOFT,
              stroke_width=THIN, stroke_dasharray="2 1.5")  # fmt: skip
    sheet.text((corner[0] + 4.0, corner[1] + 7.0), card.title, 4.6, font_weight="bold")
    for k, line in enumerate(card.lines):
        sheet.text((corner[0] + 4.0, corner[1] + 12.5 + 4.4 * k), line, 3.3)
    radius = card.diameter / 2.0
    drawing = (corner[0], corner[1] + _WORDS)
    centre = (corner[0] + wide / 2.0, drawing[1] + (high - _WORDS) / 2.0)
    sheet.circle(centre, radius, stroke_width=LINE)
    for deg in (0.0, 90.0, 180.0, 270.0):
        sheet.line(centre, off(centre, deg, 2.0), stroke_width=THIN)
    for deg in range(0, 360, 10):
        out = radius + (_TICKS_OUT if deg % 30 == 0 else _TICKS_OUT / 2.0)
        sheet.line(off(centre, deg, radius), off(centre, deg, out), stroke_width=THIN, stroke=SOFT)
    sheet.text((centre[0], centre[1] - radius - _TICKS_OUT - 1.0), "12", 3.0, text_anchor="middle", fill=SOFT)
    if card.line_deg is not None:
        _line(sheet, (drawing, centre), card)
    tip = off(centre, card.mark_deg, radius)
    sheet.arrow(off(centre, card.mark_deg, radius + _TICKS_OUT + _ARROW), tip, INK, HEAVY)
    x, y = off(centre, card.mark_deg, radius + _TICKS_OUT + _ARROW + 3.5)
    sheet.text((x, y + 1.0), "mark", 3.0, text_anchor="middle")
    if abs(difference(card.mark_deg, card.high_deg)) > 0.5:
        sheet.circle(off(centre, card.high_deg, radius - 2.0), 0.8, fill=INK, stroke="none")


def _line(sheet: Sheet, place: tuple[Point, Point], card: DowelCard) -> None:
    """The line through the holes, to both edges of the card; an arrow the way that it counts from."""
    corner, centre = place
    deg = card.line_deg or 0.0
    for way in (deg, deg + 180.0):
        far = _edge(corner, centre, way)
        sheet.line(centre, far, stroke_width=LINE, stroke_dasharray="6 1.5 1 1.5")
        if way == deg:
            near = (far[0] + (centre[0] - far[0]) * 0.15, far[1] + (centre[1] - far[1]) * 0.15)
            sheet.arrow(near, far, INK, LINE)
            inside = (far[0] + (centre[0] - far[0]) * 0.27, far[1] + (centre[1] - far[1]) * 0.27)
            # Along the line, and never upside down.
            turned(sheet, off(inside, deg - 90.0, 2.4), deg % 180.0 - 90.0, card.line_words, 2.8)


def _edge(corner: Point, centre: Point, deg: float) -> Point:
    """Where a ray from a place within leaves the drawing."""
    rad = math.radians(deg)
    dx, dy = math.sin(rad), -math.cos(rad)
    low, high = corner, (corner[0] + _CARD[0], corner[1] + _CARD[1] - _WORDS)
    ways = [((high if d > 0.0 else low)[i] - centre[i]) / d for i, d in enumerate((dx, dy)) if abs(d) > 1e-9]
    return centre[0] + min(ways) * dx, centre[1] + min(ways) * dy


def bolt_pages(bolts: Sequence[BoltCard], paper: Paper, title: str, lines: Sequence[str]) -> list[str]:
    """The bolts on their circle, scaled down to the page, and a tag to cut out for each."""
    sheet = page(paper, title, lines)
    reach = max(math.hypot(*bolt.place) for bolt in bolts)
    radius = 60.0
    centre = (paper.width / 2.0, HEAD + radius + 18.0)
    sheet.circle(centre, radius, stroke=FAINT, stroke_width=LINE)
    sheet.text(
        (centre[0], centre[1] - 2.0), f"1 : {reach / radius:.1f}", 3.2, text_anchor="middle", fill=SOFT
    )
    sheet.text((centre[0], centre[1] + 3.0), "seen from behind", 3.2, text_anchor="middle", fill=SOFT)
    for bolt in bolts:
        x, y = (centre[0] + bolt.place[0] * radius / reach, centre[1] - bolt.place[1] * radius / reach)
        sheet.circle((x, y), 3.2, stroke_width=LINE, fill="#ffffff")
        sheet.text((x, y + 1.2), bolt.name, 3.4, text_anchor="middle")
        out = (x + (x - centre[0]) / radius * 20.0, y + (y - centre[1]) / radius * 10.0)
        sheet.text((out[0], out[1] + 1.6), bolt.words, 5.0, text_anchor="middle")
    pages, top, left = [sheet.markup()], HEAD, MARGIN
    tags = [bolts[k : k + 18] for k in range(0, len(bolts), 18)]
    for several in tags:
        sheet = page(paper, f"{title}: tags to cut out", ["One under each bolt, until its shims are in."])
        for k, bolt in enumerate(several):
            corner = (left + k % 2 * (paper.across / 2.0), top + k // 2 * 24.0)
            _tag(sheet, corner, bolt)
        pages.append(sheet.markup())
    return pages


def _tag(sheet: Sheet, corner: Point, bolt: BoltCard) -> None:
    sheet.add("rect", x=corner[0] + 10.0, y=corner[1], width=70.0, height=22.0, fill="none", stroke=SOFT,
              stroke_width=THIN, stroke_dasharray="2 1.5")  # fmt: skip
    sheet.text(
        (corner[0] + 14.0, corner[1] + 9.0), f"bolt {bolt.name}, {bolt.clock}", 5.0, font_weight="bold"
    )
    sheet.text((corner[0] + 14.0, corner[1] + 17.0), bolt.words, 4.6)
