"""The picture of the turn that an encoder is learnt by: where the crank begins, and its way round past 12."""

import math
from typing import Final

from ..terminal import Dots
from .clockface import Dial, hours, off
from .raster import Raster, pointer

_BEGIN_DEG: Final = -20.0
"""Just before 12."""
_STEP: Final = 4


def draw_turn(turning: bool, width: int, height: int, glyphs: Dots) -> Raster:
    """A crank that stands just before 12; turning: and the way that it goes from there. Seen from behind."""
    raster = Raster(width, height, glyphs)
    dial = Dial.within(float(width), float(height))
    centre, rim = dial.centre, dial.radius
    raster.ring("faint", centre, rim, 0.5)
    hours(raster, dial)
    raster.line("station", centre, off(centre, _BEGIN_DEG, 0.92 * rim), 1.2)
    raster.disc("station", centre, max(0.12 * rim, 1.0))
    if turning:
        way = 0.66 * rim
        ends = range(24, 320, _STEP)
        raster.discs("arrow", [off(centre, _BEGIN_DEG + k, way) for k in map(float, ends)], 0.5)
        head, last = max(0.3 * rim, 2.4), _BEGIN_DEG + 320.0
        raster.polygon(
            "arrow", pointer(off(centre, last, way), head * math.sqrt(2.0), last + 100.0, 2.0 * head)
        )
    return raster
