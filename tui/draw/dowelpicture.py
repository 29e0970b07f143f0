"""The picture of two dowels as they are to be set: what a person sees who looks at them from behind.

Each dowel is drawn large in a clock of its own: the body in its hole, the nose that stands off towards
the high side, the slot across the nose, and an arrow outside where the high side is. Where it is known how
the holes stand, the dowels stand so to each other, with the line through them. Sizes are not to scale;
directions are.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Dowel, Option

from ..say.dowels.guide import Place, places
from ..terminal import Dots, Glyphs
from .clockface import Dial, hours, off
from .raster import Point, Raster, pointer

_NOSE: Final = 0.46
_OFF: Final = 0.18
"""Of the body's radius: that of the nose, and how far off it is drawn."""

_NOSE_SHOWS: Final = 9.0
"""Columns of radius, with letters for dots twice as many; on a smaller body the nose would be a smudge:
only its slot is drawn, as a line."""

_COARSE: Final[dict[Dots, float]] = {"ascii": 2.0, "blocks": 1.0, "braille": 1.0, "pixels": 0.4}
"""How much larger or smaller it may be in other dots."""

_LEAST: Final = 4.5
"""Columns of radius below which nothing can be told of a dowel."""

_SMUDGE: Final = 0.6
"""The same below which not even hours and name have room about it: words take its place."""

_MARGIN: Final = 3.4
"""Columns about a body for its arrow and hours."""

_NAME: Final = 2.0
"""Half rows above a body for its name."""

_LEGEND: Final = 2.0
"""Half rows below everything."""

_CLOSEST: Final = 2.0
"""Columns between the margins of two bodies, at least, that the line through them is drawn."""


@dataclass(frozen=True, slots=True)
class _Layout:
    """Where the bodies stand (columns, half rows), and their radius."""

    centres: tuple[Point, ...]
    radius: float


def draw_dowels(option: Option, pins: Pins | None, width: int, height: int, glyphs: Dots) -> Raster:
    """The dowels of an option as they stand; which hole each is in stands above it."""
    raster = Raster(width, height, glyphs)
    spots = places(option, pins)
    if not spots:
        raster.text("word", 1, height // 2, "nothing to set: leave it as it is")
        return raster
    layout = _layout(_apart(pins), float(width), 2.0 * height)
    beside = _layout((1.0, 0.0), float(width), 2.0 * height)
    if layout.radius < _LEAST and beside.radius > layout.radius:
        # One above the other they would be smudges: their names say which is which.
        order = sorted(spots, key=lambda place: place.position[0] if place.position else 0.0)
        spots, layout = order, beside
    elif pins is not None and layout.radius >= _SMUDGE:
        _line(raster, layout)
    if layout.radius < _SMUDGE:
        for row, place in enumerate(spots):
            raster.text("word", 0, row, f"{place.name} to {place.dowel.clock}")
        raster.text("hour", 0, height - 1, "from behind"[:width])
        return raster
    layout = replace(layout, radius=max(layout.radius, 1.5))
    for place, name, centre in zip(spots, _names(spots, width), layout.centres, strict=True):
        _named(raster, name, centre, layout.radius)
        _dowel(raster, place.dowel, centre, layout.radius)
    words = ["arrow: high side", "seen from behind", "line: slot"]
    if any(place.dowel.mark_deg != place.dowel.deg for place in spots):
        words.append("M: mark")
    legend = ""
    for word in words:
        if len(legend) + len(word) + 2 * bool(legend) <= width:
            legend += f"{'  ' if legend else ''}{word}"
    raster.text("hour", max((width - len(legend)) // 2, 0), height - 1, legend)
    return raster


def _apart(pins: Pins | None) -> tuple[float, float]:
    """From the first hole to the second as a unit vector, x right and y down."""
    if pins is None:
        return 1.0, 0.0
    (x1, y1), (x2, y2) = pins.first, pins.second
    return (x2 - x1) / pins.apart, -(y2 - y1) / pins.apart


def _layout(way: tuple[float, float], width: float, height: float) -> _Layout:
    """As large as fits: two boxes that do not overlap, one so to the other."""
    dx, dy = abs(way[0]), abs(way[1])
    tall = height - _LEGEND
    # Beside each other the boxes are as wide as apart; above each other a name needs room as well.
    reach = min(width / (2.0 * dx + 2.0), (tall - _NAME) / (2.0 * dy + 2.0) - _NAME * dy / 2.0)
    apart = min(
        (width - 2.0 * reach) / dx if dx > 0.05 else math.inf,
        (tall - _NAME - 2.0 * reach) / dy if dy > 0.05 else math.inf,
    )
    middle = (width / 2.0, (tall + _NAME) / 2.0)
    half = (way[0] * apart / 2.0, way[1] * apart / 2.0)
    centres = ((middle[0] - half[0], middle[1] - half[1]), (middle[0] + half[0], middle[1] + half[1]))
    return _Layout(centres, reach - _MARGIN)


def _line(raster: Raster, layout: _Layout) -> None:
    """The line through the two holes, from margin to margin."""
    first, second = layout.centres
    apart, reach = math.dist(first, second), layout.radius + _MARGIN
    if apart - 2.0 * reach < _CLOSEST:
        return
    ends = _along(first, second, (reach / apart, 1.0 - reach / apart))
    steps = max(int(math.dist(*ends) / 3.0), 1)
    dots = _along(ends[0], ends[1], [k / steps for k in range(steps + 1)])
    raster.discs("faint", dots, 0.3)


def _names(spots: Sequence[Place], width: int) -> list[str]:
    """What stands above the bodies; short where one would run into the other."""
    full = [f"{place.name} {'dowel' if place.position is None else 'hole'}" for place in spots]
    return full if sum(map(len, full)) + len(full) <= width else [place.name for place in spots]


def _named(raster: Raster, name: str, centre: Point, radius: float) -> None:
    column = min(max(round(centre[0] - len(name) / 2.0), 0), raster.width - len(name))
    raster.text("word", column, max(int((centre[1] - radius - _MARGIN - _NAME + 0.5) / 2.0), 0), name)


def _dowel(raster: Raster, dowel: Dowel, centre: Point, radius: float) -> None:
    raster.ring("faint", centre, radius, 0.5)
    if radius < _NOSE_SHOWS * _COARSE[raster.glyphs]:
        ends = [off(centre, dowel.mark_deg + turn, 0.65 * radius) for turn in (0.0, 180.0)]
        raster.line("station", ends[0], ends[1], 0.8)
    else:
        nose = off(centre, dowel.deg, _OFF * radius)
        raster.disc("station", nose, _NOSE * radius)
        ends = [off(nose, dowel.mark_deg + turn, (_NOSE + 0.1) * radius) for turn in (0.0, 180.0)]
        steps = max(int(4.0 * math.dist(*ends)), 1)
        slot = _along(ends[0], ends[1], [k / steps for k in range(steps + 1)])
        raster.clear(slot, max(0.09 * radius, 0.5))
    hours(raster, Dial(centre, radius), dowel.deg)
    _high_side(raster, centre, radius, dowel.deg)
    if dowel.mark_deg != dowel.deg:
        x, y = off(centre, dowel.mark_deg, 0.85 * radius)
        raster.text("due", round(x - 0.5), int(y / 2.0), "M")


def _high_side(raster: Raster, centre: Point, radius: float, deg: float) -> None:
    """An arrow from the nose outwards; on a small body a hand from its middle, with a knob outside it."""
    tip = radius + _MARGIN - 0.8
    if radius < _NOSE_SHOWS * min(_COARSE[raster.glyphs], 1.0):
        knob = off(centre, deg, tip - 1.0)
        raster.clear([knob], 2.4)
        raster.line("arrow", centre, knob, 1.2)
        raster.disc("arrow", knob, 1.5)
        return
    tail, broad = (_NOSE + _OFF + 0.02) * radius, max(8.0, 0.6 * radius)
    raster.wipe(pointer(off(centre, deg, tail - 1.0), tip - tail + 2.6, deg, broad + 5.0))
    raster.polygon("arrow", pointer(off(centre, deg, tail), tip - tail, deg, broad))


def _along(start: Point, end: Point, shares: Sequence[float]) -> list[Point]:
    """Places on the way from one to the other."""
    return [(start[0] + (end[0] - start[0]) * at, start[1] + (end[1] - start[1]) * at) for at in shares]


def dowel_picture(option: Option, pins: Pins | None, glyphs: Glyphs = "ascii") -> list[str]:
    """The picture as plain lines."""
    if not option.dowels:
        return []
    rows = draw_dowels(option, pins, 56, 16, glyphs).rows()
    return ["".join(text for text, _ in row).rstrip() for row in rows]
