"""The housing seen from behind: readings exaggerated about a circle, the fit, and the arrow."""

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from fitter.stations import Stations

from ..raster import Glyphs, Raster, arrow


@dataclass(frozen=True)
class RoundPicture:
    """What the plot shows: stations with readings in mm, mean reading, eccentricity vector (mm), the
    way the housing must go (degrees; None to draw no arrow), the station that is due, and the scatter
    about the fit (mm), drawn as the thickness of its line."""

    stations: Stations
    mean: float | None = None
    vector: tuple[float, float] | None = None
    move_deg: float | None = None
    due_deg: float | None = None
    inside: bool = True
    scatter: float = 0.0


class RoundPlot(Widget):
    """A picture of one sweep; clock hours stand at the rim."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "round-plot--circle",
        "round-plot--fit",
        "round-plot--station",
        "round-plot--arrow",
        "round-plot--due",
        "round-plot--hour",
    }
    DEFAULT_CSS = """
    RoundPlot { min-width: 20; min-height: 8; }
    RoundPlot > .round-plot--circle { color: $foreground 55%; }
    RoundPlot > .round-plot--fit { color: $secondary; }
    RoundPlot > .round-plot--station { color: $foreground; text-style: bold; }
    RoundPlot > .round-plot--arrow { color: $primary; text-style: bold; }
    RoundPlot > .round-plot--due { color: $warning; text-style: bold; }
    RoundPlot > .round-plot--hour { color: $foreground; }
    """
    _SWING = 0.22  # of the radius, for the largest deviation

    def __init__(self, glyphs: Glyphs, id: str | None = None) -> None:
        """Nothing to show yet."""
        super().__init__(id=id)
        self._glyphs = glyphs
        self._picture: RoundPicture | None = None
        self._rows: list[Strip] = []

    def show(self, picture: RoundPicture) -> None:
        """Another picture; nothing is redrawn when it is the same."""
        if picture is not self._picture:
            self._picture = picture
            self._rows = []
            self.refresh()

    def on_resize(self) -> None:
        """Draw anew at the new size."""
        self._rows = []

    def render_line(self, y: int) -> Strip:
        """One row of the picture."""
        if not self._rows:
            self._rows = self._draw()
        return self._rows[y] if y < len(self._rows) else Strip.blank(self.size.width, self.rich_style)

    def _draw(self) -> list[Strip]:
        width, height = self.size
        raster = Raster(width, height, self._glyphs)
        centre = (width / 2.0, float(height))
        rim = min(width / 2.0, float(height)) - 1.2
        radius = rim / (1.0 + self._SWING)
        raster.ring("circle", centre, radius, 0.3)
        if self._picture is not None:
            self._draw_sweep(raster, self._picture, centre, radius)
        for hour, (dx, dy) in {"12": (0, -1), "3": (1, 0), "6": (0, 1), "9": (-1, 0)}.items():
            column = round(centre[0] + dx * (radius * 0.7) - len(hour) / 2.0)
            raster.text("hour", column, int((centre[1] + dy * radius * 0.7) / 2.0), hour)
        styles = {"": self.rich_style}
        for name in ("circle", "fit", "station", "arrow", "due", "hour"):
            styles[name] = self.get_component_rich_style(f"round-plot--{name}")
        return [Strip([Segment(text, styles[style]) for text, style in row], width) for row in raster.rows()]

    def _draw_sweep(
        self, raster: Raster, picture: RoundPicture, centre: tuple[float, float], radius: float
    ) -> None:
        values = picture.stations.value
        mean = picture.mean if picture.mean is not None else float(values.mean()) if len(values) else 0.0
        largest = float(np.abs(values - mean).max()) if len(values) else 0.0
        gain = self._SWING * radius / largest if largest > 0.0 else 0.0
        if picture.vector is not None:
            x, y = picture.vector
            sign = -1.0 if picture.inside else 1.0
            turn = np.linspace(0.0, 2.0 * math.pi, 72, endpoint=False)
            swing = np.clip(sign * (x * np.sin(turn) + y * np.cos(turn)) * gain, -radius / 2, radius / 2)
            thickness = min(max(0.7, 2.0 * picture.scatter * gain), radius / 3.0)
            raster.curve("fit", centre, (radius + swing).tolist(), thickness)
        if picture.move_deg is not None:
            raster.polygon("arrow", arrow(centre, 1.25 * radius, picture.move_deg, 0.85 * radius))

        def dot(style: str, deg: float, at: float, size: float) -> None:
            rad = math.radians(deg)
            place = (centre[0] + at * math.sin(rad), centre[1] - at * math.cos(rad))
            raster.clear(place, size + 0.9)
            raster.disc(style, place, size)

        size = 1.2 if len(values) <= 24 else 0.3
        if picture.due_deg is not None:
            dot("due", picture.due_deg, radius, 1.6)
        for deg, value in zip(picture.stations.deg.tolist(), values.tolist(), strict=True):
            dot("station", deg, radius + gain * (value - mean), size)
