"""The picture of a dial that is set up: base on the flywheel, tip on what is swept, the way of the turn.

It is seen from behind; sizes are not to scale.
"""

import math

from coaxly.fitter.clues.angles import Turn

from ..terminal import Dots
from .clockface import Dial, hours, off
from .raster import Raster, pointer

_AT_DEG = 40.0
"""Where the dial is drawn, beside 12 o'clock, where its mark would hide it."""

_FLYWHEEL, _BORE = 0.62, 0.86
"""Radii, as shares of the housing's outline."""


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
        _arc(raster, centre, 0.42 * rim, 1.0 if turn == "cw" else -1.0)
    word = {"bore": "tip on the BORE", "face": "tip on the FACE"}[feature]
    raster.text("word", max((width - len(word)) // 2, 0), height - 1, word[:width])
    return raster


def _arc(raster: Raster, centre: tuple[float, float], radius: float, way: float) -> None:
    """The way of the turn, below the middle: from one side to the other, with a head."""
    ends = range(0, 91, 6)
    raster.discs("arrow", [off(centre, 180.0 - way * (k - 45.0), radius) for k in map(float, ends)], 0.5)
    last = 180.0 + way * 45.0
    head = max(0.45 * radius, 2.4)
    tail = off(centre, last, radius)
    raster.polygon("arrow", pointer(tail, head * math.sqrt(2.0), last + way * 100.0, 2.6 * head))
