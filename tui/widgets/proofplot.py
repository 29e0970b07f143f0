"""Before and after, drawn: where the bore was, where it was to go, where it is, and the limit."""

import math
from typing import Final

from ..draw.raster import Point, Raster, Rows
from ..terminal import Glyphs
from .rasterwidget import RasterWidget

_SIZE: Final = 1.5
_KEY: Final = {"found": ("○", "o"), "planned": ("+", "*"), "now": ("●", "#")}
"""What stands for each in the key, and in plain characters."""


class ProofPlot(RasterWidget):
    """The crank's axis in the middle, the limit as a ring about it, the bore before, planned and now."""

    DEFAULT_CSS = "ProofPlot { min-height: 8; }"

    def __init__(
        self,
        glyphs: Glyphs,
        limit: float,
        found: Point,
        planned: Point | None,
        left: Point,
        id: str | None = None,
    ) -> None:
        """limit: permitted offset (half of the TIR), mm. found, planned, left: the bore, from the crank."""
        super().__init__(id=id)
        self._glyphs, self._limit = glyphs, limit
        places = {"found": found, "planned": planned, "now": left}
        self._places = {name: place for name, place in places.items() if place is not None}

    def drawing(self, width: int, height: int) -> Rows:
        """Ring, way, marks and their key."""
        raster = Raster(width, height, self._glyphs)
        centre = (width / 2.0, float(height))
        farthest = max(self._limit, *(math.hypot(*place) for place in self._places.values()))
        scale = (min(width / 2.0, float(height)) - _SIZE - 1.0) / farthest

        def at(name: str) -> Point:
            x, y = self._places[name]
            return centre[0] + x * scale, centre[1] - y * scale

        raster.ring("faint", centre, self._limit * scale, 0.4)
        raster.line("fit", at("found"), at("now"), 0.5)
        x, y = centre
        raster.line("faint", (x - 1.5, y), (x + 1.5, y), 0.3)
        raster.line("faint", (x, y - 1.5), (x, y + 1.5), 0.3)
        self._marks(raster, {name: at(name) for name in self._places})
        self._key(raster, centre, self._limit * scale)
        return raster.rows()

    def _marks(self, raster: Raster, at: dict[str, Point]) -> None:
        """A ring, a plus and a disc: told apart by shape alone."""
        raster.clear([at["found"]], _SIZE + 0.7)
        raster.ring("station", at["found"], _SIZE, 0.7)
        if (planned := at.get("planned")) is not None:
            (x, y), arm = planned, 1.5 * _SIZE
            raster.line("due", (x - arm, y), (x + arm, y), 0.5)
            raster.line("due", (x, y - arm), (x, y + arm), 0.5)
        raster.disc("arrow", at["now"], _SIZE)

    def _key(self, raster: Raster, centre: Point, ring: float) -> None:
        height = raster.height
        styles = {"found": "station", "planned": "due", "now": "arrow"}
        x, y = self._places["found"]
        first = height - 1 - len(self._places) if x < 0.0 < y else 0  # not where the way begins
        for row, name in enumerate(self._places, start=first):
            char = _KEY[name][self._glyphs == "ascii"]
            raster.text(styles[name], 0, row, f"{char} {name}")
        raster.text("hour", 0, height - 1, "ring: limit   seen from behind")
        raster.text("hour", round(centre[0]) - 1, 0, "12")
