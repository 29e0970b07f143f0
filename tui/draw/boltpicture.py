"""Bolts on their circle, seen from behind, with what goes under each, and where the face is high."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from ..terminal import Dots
from .clockface import Dial, off
from .raster import Raster

_BOLT: Final = 1.5


@dataclass(frozen=True, slots=True)
class Bolt:
    """Where it is (degrees), and what goes under it, as it is written; "" for nothing."""

    deg: float
    under: str


def draw_bolts(
    bolts: Sequence[Bolt], high_deg: float | None, width: int, height: int, glyphs: Dots
) -> Raster:
    """A full disc where shims go, an empty one where none do; a hand towards the high side."""
    raster = Raster(width, height, glyphs)
    dial = Dial.within(width - 8.0, height - 2.0, (4.0, 0.6))
    raster.ring("faint", dial.centre, dial.radius, 0.3)
    if high_deg is not None:
        tip = off(dial.centre, high_deg, 0.62 * dial.radius)
        raster.line("arrow", dial.centre, tip, 1.2)
        raster.disc("arrow", tip, 1.5)
        down = off((0.0, 0.0), high_deg, 1.0)[1] > 0.0
        row = int(dial.centre[1] / 2.0) + (-1 if down else 1)
        raster.text("arrow", round(dial.centre[0]) - 2, row, "high")
    places = [off(dial.centre, bolt.deg, dial.radius) for bolt in bolts]
    raster.clear(places, _BOLT + 0.7)
    for bolt, place in zip(bolts, places, strict=True):
        if bolt.under:
            raster.disc("due", place, _BOLT)
        else:
            raster.ring("station", place, _BOLT, 0.6)
        beside = abs(off((0.0, 0.0), bolt.deg, 1.0)[0]) * (len(bolt.under) / 2.0 + 0.6)
        x, y = off(dial.centre, bolt.deg, dial.radius + 2.4 + beside)
        row = min(max(int(y / 2.0), 0), height - 1)
        raster.text("due", round(x - len(bolt.under) / 2.0), row, bolt.under)
    words = "12 is up, seen from behind"
    raster.text("hour", 0, height - 1, words if len(words) <= width else "seen from behind")
    return raster
