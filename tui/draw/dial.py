"""A clock seen from behind, into which pictures are drawn."""

import math
from dataclasses import dataclass
from typing import Final

from .raster import Point, Raster

_HOURS: Final = (("12", 0.0), ("3", 90.0), ("6", 180.0), ("9", 270.0))


@dataclass(frozen=True, slots=True)
class Dial:
    """Centre (columns, half rows) and radius (columns) of a clock whose hours stand outside it."""

    centre: Point
    radius: float

    @classmethod
    def within(cls, width: float, height: float, corner: Point = (0.0, 0.0)) -> "Dial":
        """The largest in a box of so many columns and rows, with room for its hours."""
        centre = (corner[0] + width / 2.0, corner[1] + height)
        return cls(centre, max(min(width / 2.0 - 2.6, height - 2.2), 1.5))


def hours(raster: Raster, dial: Dial) -> None:
    """12, 3, 6 and 9 about it."""
    for hour, deg in _HOURS:
        x, y = off(dial.centre, deg, dial.radius + 1.6)
        raster.text("hour", round(x - len(hour) / 2.0), int(y / 2.0), hour)


def off(centre: Point, deg: float, distance: float) -> Point:
    """A place so far off a centre, clockwise from the top."""
    rad = math.radians(deg)
    return centre[0] + distance * math.sin(rad), centre[1] - distance * math.cos(rad)
