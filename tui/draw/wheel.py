"""Degree wheels at true scale, whole where the paper holds them, else in pieces of the rim to be joined.

Numbers always count the crank's turn clockwise as seen from behind, so that what a pointer shows is entered
as it stands, whichever end of the engine the wheel is on. A wheel that turns with the crank under a pointer
that stands has its numbers running against the turn; one that stands while a mark on the crank goes round has
them running with it.
"""

import math
from dataclasses import dataclass, replace
from typing import Final, Literal

from coaxly.fitter.geometry import clock

from .clockface import off
from .page import HEAD, HEAVY, LINE, THIN, Paper, arc, page, turned
from .svg import FAINT, Point, Sheet

SMALLEST_MM: Final = 50.0
LARGEST_MM: Final = 1000.0
_RIM: Final = 26.0
_BETWEEN: Final = 7.0
_SMALL: Final = 60.0
"""Below this radius there is no room for every number."""

_PIECES: Final = (120, 90, 60, 45, 40, 30, 20, 15, 10)


@dataclass(frozen=True, slots=True)
class Wheel:
    """A degree wheel; lengths in mm.

    diameter: of its outer edge. hole: to be cut out in the middle, 0 for none.
    view: the end of the engine that it is looked at from.
    fixed: it stands, and a mark on the crank goes round; else it turns with the crank under a pointer.
    stations: how many places are marked.
    up: the number that is turned upwards.
    """

    diameter: float
    hole: float = 0.0
    view: Literal["rear", "front"] = "rear"
    fixed: bool = False
    stations: int = 8
    up: float = 0.0

    @property
    def way(self) -> int:
        """+1 where numbers run clockwise on the paper. Seen from behind the crank's mark goes clockwise round
        a wheel that stands; each of the two, the front and a wheel that turns, turns that round."""
        return 1 if (self.view == "rear") == self.fixed else -1

    def paper_deg(self, number: float) -> float:
        """Where a number stands on the paper, clockwise from straight up."""
        return self.way * (number - self.up)


def wheel_pages(wheel: Wheel, paper: Paper, size: str) -> list[str]:
    """The pages, as SVG. size: the diameter in words."""
    radius = wheel.diameter / 2.0
    lines = _words(wheel)
    if wheel.diameter <= min(paper.across, paper.down):
        sheet = page(paper, f"Degree wheel, {size}", lines)
        _whole(sheet, (paper.width / 2.0, HEAD + radius + 2.0), wheel)
        return [sheet.markup()]
    span = next((s for s in _PIECES if 2.0 * radius * math.sin(math.radians(s / 2.0)) <= paper.across), 10)
    height = radius * (1.0 - math.cos(math.radians(span / 2.0))) + _RIM + _BETWEEN
    each = max(1, int(paper.down // height))
    starts = list(range(0, 360, span))
    pages = []
    for first in range(0, len(starts), each):
        beside = f"piece {first + 1} to {min(first + each, len(starts))} of {len(starts)}"
        cut = "Cut along the rim and the dashed ends; lay number on number, edge to edge."
        sheet = page(paper, f"Degree wheel, {size}, {beside}", [*lines, cut])
        for k, start in enumerate(starts[first : first + each]):
            centre = (paper.width / 2.0, HEAD + 2.0 + k * height + radius)
            _piece(sheet, centre, wheel, (float(start), float(start + span)))
        pages.append(sheet.markup())
    return pages


def _words(wheel: Wheel) -> list[str]:
    seen = "behind (flywheel end)" if wheel.view == "rear" else "the front (damper end)"
    how = (
        "It stands still; a mark on the crank goes round it. Set 0 to the mark's 12 o'clock."
        if wheel.fixed
        else "Fix it to the crank; the pointer stands on the block. Set 0 under the pointer to begin."
    )
    return [
        f"To be read from {seen}. {how}",
        "Numbers count the crank's turn clockwise as seen from behind: enter them as they are.",
    ]


def _whole(sheet: Sheet, centre: Point, wheel: Wheel) -> None:
    radius = wheel.diameter / 2.0
    sheet.circle(centre, radius, stroke_width=LINE)
    if wheel.hole:
        sheet.circle(centre, wheel.hole / 2.0, stroke_width=LINE)
    for deg in (0.0, 90.0):
        sheet.line(off(centre, deg, 4.0), off(centre, deg, -4.0), stroke_width=THIN)
    if radius > _RIM:
        sheet.circle(centre, radius - _RIM, stroke=FAINT, stroke_width=THIN)
    _ticks(sheet, centre, wheel, (0.0, 359.0))


def _piece(sheet: Sheet, centre: Point, wheel: Wheel, span: tuple[float, float]) -> None:
    """The part of the rim between two numbers, its middle upwards."""
    moved = replace(wheel, up=sum(span) / 2.0)
    ends = sorted(moved.paper_deg(number) for number in span)
    radius = wheel.diameter / 2.0
    for r in (radius, radius - _RIM):
        arc(sheet, centre, r, ends[0], ends[1])
    for end in ends:
        sheet.line(off(centre, end, radius - _RIM), off(centre, end, radius), stroke_width=LINE,
                   stroke_dasharray="2 1.5")  # fmt: skip
    _ticks(sheet, centre, moved, span)


def _ticks(sheet: Sheet, centre: Point, wheel: Wheel, span: tuple[float, float]) -> None:
    """A tick a degree, longer every five and ten, numbers every ten, and the stations."""
    radius = wheel.diameter / 2.0
    small = radius < _SMALL
    for number in range(math.ceil(span[0]), math.floor(span[1]) + 1):
        deg = wheel.paper_deg(float(number))
        long = 6.5 if number % 10 == 0 else 4.5 if number % 5 == 0 else 2.8
        thick = LINE if number % 5 == 0 else THIN
        sheet.line(off(centre, deg, radius), off(centre, deg, radius - long), stroke_width=thick)
        # Where two pieces join both bear the number, whatever it is: it is laid on itself.
        if number % (30 if small else 10) == 0 or (span[1] - span[0] < 358.0 and number in span):
            deg = wheel.paper_deg(_inside(float(number), span, radius))
            turned(sheet, off(centre, deg, radius - 9.0), deg, f"{number % 360}", 3.4)
    for k in range(wheel.stations):
        if span[0] <= 360.0 / wheel.stations * k < _end(span):
            _station(sheet, centre, wheel, (k, _inside(360.0 / wheel.stations * k, span, radius)))


def _end(span: tuple[float, float]) -> float:
    """A station where two pieces join stands on the piece that begins with it."""
    return 360.0 if span[1] == 359.0 else span[1]


def _inside(number: float, span: tuple[float, float], radius: float) -> float:
    """A number's own place, moved off an end where the paper is cut."""
    if span[1] - span[0] > 358.0:
        return number
    room = math.degrees(4.0 / radius)
    return min(max(number, span[0] + room), span[1] - room)


def _station(sheet: Sheet, centre: Point, wheel: Wheel, which: tuple[int, float]) -> None:
    """The number of a station and where the clock has it; which: its place in the order, and of its words."""
    k, words_at = which
    radius, number = wheel.diameter / 2.0, 360.0 / wheel.stations * k
    deg, beside = wheel.paper_deg(number), wheel.paper_deg(words_at)
    sheet.line(off(centre, deg, radius - 11.5), off(centre, deg, radius - 15.0), stroke_width=HEAVY)
    turned(sheet, off(centre, beside, radius - 17.5), beside, f"{k + 1}", 4.4)
    if radius >= _SMALL:
        turned(sheet, off(centre, beside, radius - 22.0), beside, clock(number), 3.0)
