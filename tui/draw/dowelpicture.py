"""The picture of two dowels as they are to be set: what a person sees who looks at them from behind.

Each dowel is drawn large in a clock of its own: the body in its hole, the nose that stands off towards
the high side, the slot across the nose, and an arrow outside where the high side is. Sizes are not to
scale; directions are.
"""

import math
from typing import Final

from fitter.dowels.pins import Pins
from fitter.dowels.plan import Dowel, Option
from fitter.geometry import Vector

from ..say.guide import places
from ..terminal import Glyphs
from .raster import Point, Raster, pointer

_HOURS: Final = (("12", 0.0), ("3", 90.0), ("6", 180.0), ("9", 270.0))
_NOSE: Final = 0.46
_OFF: Final = 0.18
"""Of the body's radius: that of the nose, and how far off it is drawn."""

_NOSE_SHOWS: Final = 9.0
"""Columns of radius, with letters for dots twice as many; on a smaller body the nose would be a smudge:
only its slot is drawn, as a line."""

_MARGIN: Final = 3.4
"""Columns about a body for its arrow and hours."""


def draw_dowels(option: Option, pins: Pins | None, width: int, height: int, glyphs: Glyphs) -> Raster:
    """The dowels of an option side by side; which hole each is in stands above it."""
    raster = Raster(width, height, glyphs)
    spots = places(option, pins)
    if not spots:
        raster.text("word", 1, height // 2, "nothing to set: leave it as it is")
        return raster
    box = width / len(spots)
    radius = max(min(box / 2.0, height - 2.5) - _MARGIN, 1.5)
    for k, place in enumerate(spots):
        centre = (box * (k + 0.5), height - 0.5)
        name = f"{place.name} hole" if place.position is not None else f"{place.name} dowel"
        raster.text("word", max(round(centre[0] - len(name) / 2.0), 0), 0, name)
        _dowel(raster, place.dowel, centre, radius)
    marked = "   M: mark" if any(place.dowel.mark_deg != place.dowel.deg for place in spots) else ""
    raster.text("hour", 0, height - 2, f"seen from behind{marked}")
    raster.text("hour", 0, height - 1, "arrow: high side   line: slot")
    return raster


def _dowel(raster: Raster, dowel: Dowel, centre: Point, radius: float) -> None:
    raster.ring("faint", centre, radius, 0.5)
    if radius < _NOSE_SHOWS * (2.0 if raster.glyphs == "ascii" else 1.0):
        ends = [_off(centre, dowel.mark_deg + turn, 0.65 * radius) for turn in (0.0, 180.0)]
        raster.line("station", ends[0], ends[1], 0.8)
        tail = 0.0
    else:
        nose = _off(centre, dowel.deg, _OFF * radius)
        raster.disc("station", nose, _NOSE * radius)
        ends = [_off(nose, dowel.mark_deg + turn, (_NOSE + 0.1) * radius) for turn in (0.0, 180.0)]
        raster.clear(_between(*ends), max(0.09 * radius, 0.5))
        tail = (_NOSE + _OFF + 0.02) * radius
    for hour, deg in _HOURS:
        x, y = _off(centre, deg, radius + 1.7)
        raster.text("hour", round(x - len(hour) / 2.0), int(y / 2.0), hour)
    tip, broad = radius + _MARGIN - 0.8, max(8.0, 0.6 * radius)
    raster.wipe(pointer(_off(centre, dowel.deg, tail - 1.0), tip - tail + 2.6, dowel.deg, broad + 5.0))
    raster.polygon("arrow", pointer(_off(centre, dowel.deg, tail), tip - tail, dowel.deg, broad))
    if dowel.mark_deg != dowel.deg:
        x, y = _off(centre, dowel.mark_deg, 0.85 * radius)
        raster.text("due", round(x - 0.5), int(y / 2.0), "M")


def _off(centre: Point, deg: float, distance: float) -> Vector:
    rad = math.radians(deg)
    return centre[0] + distance * math.sin(rad), centre[1] - distance * math.cos(rad)


def _between(start: Point, end: Point) -> list[Point]:
    steps = max(int(4.0 * math.dist(start, end)), 1)
    return [
        (start[0] + (end[0] - start[0]) * k / steps, start[1] + (end[1] - start[1]) * k / steps)
        for k in range(steps + 1)
    ]


def dowel_picture(option: Option, pins: Pins | None, glyphs: Glyphs = "ascii") -> list[str]:
    """The picture as plain lines."""
    if not option.dowels:
        return []
    rows = draw_dowels(option, pins, 56, 16, glyphs).rows()
    return ["".join(text for text, _ in row).rstrip() for row in rows]
