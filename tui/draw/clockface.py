"""A clock seen from behind, into which pictures are drawn."""

import math
from dataclasses import dataclass
from typing import Final

from coaxly.fitter.geometry import difference

from .raster import Point, Raster

HOURS: Final = (("12", 0.0), ("3", 90.0), ("6", 180.0), ("9", 270.0))
"""What stands at a clock's rim, and where in degrees."""

_HIDDEN: Final = 18.0
"""Degrees from an arrow within which an hour would stand in it."""


@dataclass(frozen=True, slots=True)
class Dial:
    """Centre (columns, half rows) and radius (columns) of a clock whose hours stand outside it."""

    centre: Point
    radius: float

    @classmethod
    def within(cls, width: float, height: float, corner: Point = (0.0, 0.0)) -> "Dial":
        """The largest in a box of so many columns and rows, with room for its hours."""
        centre = (corner[0] + width / 2.0, corner[1] + height)
        return cls(centre, max(min(width / 2.0 - 2.6, height - 2.6), 1.5))


def hours(raster: Raster, dial: Dial, arrow_deg: float | None = None) -> None:
    """12, 3, 6 and 9 about it, never on its ring. arrow_deg: of an arrow that reaches out to them; the hour
    that would stand in it is left out."""
    for hour, deg in HOURS:
        if arrow_deg is not None and abs(difference(deg, arrow_deg)) < _HIDDEN:
            continue
        x, y = off(dial.centre, deg, dial.radius + 1.6)
        row = int(y / 2.0)
        if deg in (0.0, 180.0):
            way = -1 if deg == 0.0 else 1
            row = int((dial.centre[1] + way * (dial.radius + 0.25)) / 2.0) + way
        raster.text("hour", round(x - len(hour) / 2.0), row, hour)


def off(centre: Point, deg: float, distance: float) -> Point:
    """A place so far off a centre, clockwise from the top."""
    rad = math.radians(deg)
    return centre[0] + distance * math.sin(rad), centre[1] - distance * math.cos(rad)
