"""Planned against measured, drawn: where the bore was, where it was to go, where it is, and the limit."""

import math
from typing import ClassVar

from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from ..raster import Glyphs, Point, Raster

_SHOWN = {"X": "found", "O": "planned", "#": "now"}


class ProofPlot(Widget):
    """The crank's axis in the middle, the limit as a ring about it, the bore as letters."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"proof-plot--limit", "proof-plot--path", "proof-plot--mark"}
    DEFAULT_CSS = """
    ProofPlot { min-height: 8; }
    ProofPlot > .proof-plot--limit { color: $success; }
    ProofPlot > .proof-plot--path { color: $foreground 55%; }
    ProofPlot > .proof-plot--mark { color: $primary; text-style: bold; }
    """

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

    def render_line(self, y: int) -> Strip:
        """One row; drawn once a size, since nothing in it moves."""
        width, height = self.size
        raster = Raster(width, height, self._glyphs)
        centre = (width / 2.0, float(height))
        known = {mark: place for mark, place in self._places.items() if place is not None}
        farthest = max(self._limit, *(math.hypot(*place) for place in known.values()))
        scale = (min(width / 2.0, float(height)) - 2.0) / farthest

        def at(place: Point) -> Point:
            return centre[0] + place[0] * scale, centre[1] - place[1] * scale

        raster.ring("limit", centre, self._limit * scale, 0.5)
        raster.disc("path", centre, 0.5)
        (x1, y1), (x2, y2) = at(known["X"]), at(known["#"])
        for k in range(41):
            raster.disc("path", (x1 + (x2 - x1) * k / 40.0, y1 + (y2 - y1) * k / 40.0), 0.3)
        for mark, place in known.items():
            x, y_ = at(place)
            raster.text("mark", int(x), int(y_ / 2.0), mark)
        raster.text("mark", 0, height - 2, "  ".join(f"{mark} {_SHOWN[mark]}" for mark in known))
        raster.text("mark", 0, height - 1, "ring: the limit, dot: the crank")
        styles = {"": self.rich_style}
        for name in ("limit", "path", "mark"):
            styles[name] = self.get_component_rich_style(f"proof-plot--{name}")
        row = raster.rows()[y] if y < height else []
        return Strip([Segment(text, styles[style]) for text, style in row], width)
