"""Planned against measured, drawn: where the bore was, where it was to go, where it is, and the limit."""

import math

from ..raster import Glyphs, Point, Raster, Rows
from .rasterwidget import RasterWidget

_SHOWN = {"X": "found", "O": "planned", "#": "now"}


class ProofPlot(RasterWidget):
    """The crank's axis in the middle, the limit as a ring about it, the bore as letters."""

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
        self._places = {"X": found, "O": planned, "#": left}

    def drawing(self, width: int, height: int) -> Rows:
        """Ring, way and marks."""
        raster = Raster(width, height, self._glyphs)
        centre = (width / 2.0, float(height))
        known = {mark: place for mark, place in self._places.items() if place is not None}
        farthest = max(self._limit, *(math.hypot(*place) for place in known.values()))
        scale = (min(width / 2.0, float(height)) - 2.0) / farthest

        def at(place: Point) -> Point:
            return centre[0] + place[0] * scale, centre[1] - place[1] * scale

        raster.ring("faint", centre, self._limit * scale, 0.5)
        raster.disc("faint", centre, 0.5)
        raster.line("faint", at(known["X"]), at(known["#"]), 0.6)
        for mark, place in known.items():
            x, y = at(place)
            raster.text("arrow", int(x), int(y / 2.0), mark)
        raster.text("word", 0, height - 2, "  ".join(f"{mark} {_SHOWN[mark]}" for mark in known))
        raster.text("word", 0, height - 1, "ring: the limit, dot: the crank")
        return raster.rows()
