"""The arrow of a finding on a clock seen from behind: as long as the offset is in units of the limit."""

from typing import Final

from ..terminal import Dots
from .clockface import Dial, hours, off
from .raster import Point, Raster

_UNIT: Final = 0.42
"""Of the radius: an offset that is just permitted."""

_LONGEST: Final = 0.97
"""Of the radius: where an arrow ends that would be longer; its shaft is then broken."""

_BREAKABLE: Final = 13.0
"""Columns; in a smaller circle a gap would make a smudge of the arrow."""

_DART: Final = 8.0
"""Columns; a shorter arrow is a pin, for a head of its own would hide which way it points."""


def draw_way(deg: float | None, size: float, width: int, height: int, glyphs: Dots) -> Raster:
    """deg: which way, None where no direction was found, and then there is no arrow. size: the offset in
    units of the largest permitted one, which is drawn as the inner ring."""
    raster = Raster(width, height, glyphs)
    dial = Dial.within(width, height)
    raster.ring("faint", dial.centre, dial.radius, 0.5)
    raster.ring("good", dial.centre, _UNIT * dial.radius, 0.5)
    hours(raster, dial)
    if deg is not None:
        _arrow(raster, dial, deg, size)
    else:
        raster.cross("faint", dial.centre, 2.0, 0.4)
    for row, word in enumerate(("ring:", "limit")):
        raster.text("hour", 0, row, word)
    for row, word in enumerate(("seen", "from", "behind"), start=height - 3):
        raster.text("hour", 0, row, word)
    return raster


def _arrow(raster: Raster, dial: Dial, deg: float, size: float) -> None:
    """A shaft and a broad head; a short one is a pin, its head away from the centre."""
    length = min(_UNIT * size, _LONGEST) * dial.radius
    tip = off(dial.centre, deg, length)
    if length < _DART:
        raster.clear([tip], 2.6)
        raster.line("arrow", dial.centre, tip, 1.5)
        raster.disc("arrow", tip, 1.6)
        return
    long, half = min(0.65 * length, 0.5 * dial.radius), 0.34 * dial.radius
    raster.wipe(_head(dial, deg, (length + 1.6, long + 2.6, half + 1.6)))
    raster.line(
        "arrow", dial.centre, off(dial.centre, deg, length - 0.8 * long), max(0.14 * dial.radius, 1.4)
    )
    raster.polygon("arrow", _head(dial, deg, (length, long, half)))
    if _UNIT * size > _LONGEST and dial.radius > _BREAKABLE:
        raster.clear([off(dial.centre, deg, gap * dial.radius) for gap in (0.16, 0.28)], 0.05 * dial.radius)


def _head(dial: Dial, deg: float, shape: tuple[float, float, float]) -> list[Point]:
    """A triangle: its tip so far out, so long, so wide to either side."""
    tip, long, half = shape
    foot = off(dial.centre, deg, tip - long)
    return [off(dial.centre, deg, tip), off(foot, deg + 90.0, half), off(foot, deg - 90.0, half)]
