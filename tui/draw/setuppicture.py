"""Pictures for who stands at the crank: a dial that is set up, with base on the flywheel, tip on what is
swept and the way of the turn; and the turn that an encoder is learnt by.

They are seen from behind; sizes are not to scale.
"""

import math
from collections.abc import Sequence

from coaxly.fitter.clues.angles import Turn

from ..terminal import Dots
from .clockface import Dial, hours, off
from .raster import Point, Raster, pointer

_AT_DEG = 40.0
"""Where the dial is drawn, beside 12 o'clock, where its mark would hide it."""

_FLYWHEEL, _BORE = 0.62, 0.86
"""Radii, as shares of the housing's outline."""

_BEGIN_DEG = -20.0
"""Where the crank begins its turn: just before 12."""


def draw_setup(feature: str, turn: Turn | None, width: int, height: int, glyphs: Dots) -> Raster:
    """The housing with its bore or its face, the flywheel in it, the dial between."""
    raster = Raster(width, height, glyphs)
    dial = Dial.within(float(width), float(height - 1))
    centre, rim = dial.centre, dial.radius
    if feature == "face":
        for k in range(7):
            raster.ring("faint", centre, (_BORE + (1.0 - _BORE) * k / 6.0) * rim, 0.4)
    else:
        raster.ring("faint", centre, rim, 0.5)
        raster.ring("fit", centre, _BORE * rim, 1.2)
    raster.ring("faint", centre, _FLYWHEEL * rim, 0.4)
    hours(raster, dial)
    base = off(centre, _AT_DEG, 0.40 * rim)
    reach = (_BORE if feature == "bore" else (_BORE + 1.0) / 2.0) * rim
    raster.line("station", base, off(centre, _AT_DEG, reach), 1.0)
    raster.disc("station", base, max(0.15 * rim, 1.2))
    raster.disc("arrow", off(centre, _AT_DEG, reach - 0.4), max(0.05 * rim, 0.9))
    if turn is not None:
        way, radius = 1.0 if turn == "cw" else -1.0, 0.42 * rim
        head = max(0.45 * radius, 2.4)
        dots = [180.0 - way * (k - 45.0) for k in range(0, 91, 6)]
        _arc(raster, centre, radius, dots, pointer_of=(180.0 + way * 45.0, way, head, 2.6 * head))
    word = {"bore": "tip on the BORE", "face": "tip on the FACE"}[feature]
    raster.text("word", max((width - len(word)) // 2, 0), height - 1, word[:width])
    return raster


def draw_turn(turning: bool, width: int, height: int, glyphs: Dots) -> Raster:
    """A crank that stands just before 12; turning: and the way that it goes from there, round past 12."""
    raster = Raster(width, height, glyphs)
    dial = Dial.within(float(width), float(height))
    centre, rim = dial.centre, dial.radius
    raster.ring("faint", centre, rim, 0.5)
    hours(raster, dial)
    raster.line("station", centre, off(centre, _BEGIN_DEG, 0.92 * rim), 1.2)
    raster.disc("station", centre, max(0.12 * rim, 1.0))
    if turning:
        head = max(0.3 * rim, 2.4)
        dots = [_BEGIN_DEG + k for k in range(24, 320, 4)]
        _arc(raster, centre, 0.66 * rim, dots, pointer_of=(_BEGIN_DEG + 320.0, 1.0, head, 2.0 * head))
    return raster


def _arc(
    raster: Raster, centre: Point, radius: float, dots: Sequence[float], pointer_of: tuple[float, ...]
) -> None:
    """Dots along a circle (degrees), and a head where they lead. pointer_of: its place in degrees, +1 for
    clockwise, its size and its width."""
    raster.discs("arrow", [off(centre, deg, radius) for deg in dots], 0.5)
    last, way, head, width = pointer_of
    tail = off(centre, last, radius)
    raster.polygon("arrow", pointer(tail, head * math.sqrt(2.0), last + way * 100.0, width))
