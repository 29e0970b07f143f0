"""The housing seen from behind: readings exaggerated about a circle, the fit, and the arrow."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from coaxly.fitter.numeric.basis import Floats
from coaxly.fitter.reading.stations import Stations

from ..draw.clockface import off
from ..draw.raster import Point, Raster, Rows, pointer
from .rasterwidget import RasterWidget

_SWING: Final = 0.22
"""Of the radius, for the largest deviation."""

_UNIT: Final = 0.4
"""Of the radius, for an offset that is just permitted."""

_LONGEST: Final = 0.95
"""Of the radius, for the arrow of an offset beyond what can be drawn; its shaft is then broken."""

_BREAKABLE: Final = 15.0
"""Columns; in a smaller circle a gap would make a smudge of the arrow."""

_SINGLY: Final = 48
"""As many stations are drawn one by one; of more, the mean of each of equal parts of the circle."""

_PARTS: Final = (72, 36, 24, 12)
_NEXT, _LATER = 1.6, 0.4
"""Columns, the radius of the station that is due next, and of those after it that would tell nothing."""

_APART: Final = 3.0
"""Columns along the circle that each of those parts must have."""


@dataclass(frozen=True)
class RoundPicture:
    """What the plot shows: stations with readings in mm, mean reading, eccentricity vector (mm), the
    way the housing must go (degrees; None to draw no arrow), the permitted offset (mm), the stations
    that are due, the next one first, each with the share of the error bar that it takes away, and the scatter
    about the fit (mm), drawn as the thickness of its line."""

    stations: Stations
    mean: float | None = None
    vector: tuple[float, float] | None = None
    move_deg: float | None = None
    permitted: float = 0.0
    due: tuple[tuple[float, float], ...] = ()
    inside: bool = True
    scatter: float = 0.0


class RoundPlot(RasterWidget):
    """A picture of one sweep; clock hours stand at the rim."""

    DEFAULT_CSS = "RoundPlot { min-width: 20; min-height: 8; }"
    _picture: RoundPicture | None = None

    def show(self, picture: RoundPicture) -> None:
        """Another picture; nothing is redrawn when it is the same."""
        if picture is not self._picture:
            self._picture = picture
            self.stale()

    def drawing(self, width: int, height: int) -> Rows:
        """Circle, sweep and hours."""
        raster = Raster(width, height, self._glyphs)
        centre = (width / 2.0, float(height))
        radius = (min(width / 2.0, float(height)) - 1.2) / (1.0 + _SWING)
        raster.ring("faint", centre, radius, 0.3)
        if self._picture is not None:
            self._sweep(raster, self._picture, centre, radius)
        for hour, (dx, dy) in {"12": (0, -1), "3": (1, 0), "6": (0, 1), "9": (-1, 0)}.items():
            column = round(centre[0] + dx * (radius * 0.7) - len(hour) / 2.0)
            raster.text("hour", column, int((centre[1] + dy * radius * 0.7) / 2.0), hour)
        if width >= 34 and height >= 12:
            raster.text("hour", 0, height - 2, "seen")
            raster.text("hour", 0, height - 1, "from behind")
        return raster.rows()

    def _sweep(self, raster: Raster, picture: RoundPicture, centre: Point, radius: float) -> None:
        deg, value = dots(picture.stations, radius)
        mean = picture.mean if picture.mean is not None else float(value.mean()) if len(value) else 0.0
        largest = float(np.abs(value - mean).max()) if len(value) else 0.0
        gain = _SWING * radius / largest if largest > 0.0 else 0.0
        if picture.vector is not None:
            self._fit(raster, picture, centre, (radius, gain))
        self._arrow(raster, picture, centre, radius)
        for place, (due, share) in reversed(list(enumerate(picture.due))):
            at = _places(centre, np.array([due]), radius)
            raster.clear(at, 2.5)
            raster.discs("due" if place == 0 else "faint", at, _NEXT if place == 0 else _LATER + share)
        places = _places(centre, deg, radius + gain * (value - mean))
        raster.clear(places, 2.1)
        raster.discs("station", places, 1.2)

    def _fit(self, raster: Raster, picture: RoundPicture, centre: Point, scale: tuple[float, float]) -> None:
        assert picture.vector is not None
        (x, y), (radius, gain) = picture.vector, scale
        sign = -1.0 if picture.inside else 1.0
        turn = np.linspace(0.0, 2.0 * math.pi, 72, endpoint=False)
        swing = np.clip(sign * (x * np.sin(turn) + y * np.cos(turn)) * gain, -radius / 2, radius / 2)
        thickness = min(max(0.7, 2.0 * picture.scatter * gain), radius / 3.0)
        raster.curve("fit", centre, (radius + swing).tolist(), thickness)

    def _arrow(self, raster: Raster, picture: RoundPicture, centre: Point, radius: float) -> None:
        """As long as the offset is large, beside a ring for what is permitted; none without a direction."""
        if picture.move_deg is None or picture.vector is None or picture.permitted <= 0.0:
            return
        raster.ring("faint", centre, _UNIT * radius, 0.3)
        length = _UNIT * math.hypot(*picture.vector) / picture.permitted
        drawn, head = min(length, _LONGEST) * radius, 0.6 * radius
        behind = off(centre, picture.move_deg, -1.0)
        raster.wipe(pointer(behind, drawn + 2.5, picture.move_deg, head + 4.0))
        raster.polygon("arrow", pointer(centre, drawn, picture.move_deg, head))
        if length > _LONGEST and radius > _BREAKABLE:
            gaps = [off(centre, picture.move_deg, gap * radius) for gap in (0.14, 0.26)]
            raster.clear(gaps, 0.05 * radius)


def dots(stations: Stations, radius: float) -> tuple[Floats, Floats]:
    """Angles (degrees) and readings (mm) to be drawn on a circle of `radius` columns.

    However long the sweep was, there are no more of them than the circle has room for: means by
    angle, over all turns and both senses.
    """
    if len(stations) <= _SINGLY:
        return stations.deg, stations.value
    parts = next((n for n in _PARTS if 2.0 * math.pi * radius / n >= _APART), _PARTS[-1])
    part = np.minimum((stations.deg * (parts / 360.0)).astype(np.int64), parts - 1)
    count = np.bincount(part, minlength=parts)
    read = np.flatnonzero(count)
    deg, value = (
        np.asarray(np.bincount(part, weights=column, minlength=parts)[read] / count[read], dtype=np.float64)
        for column in (stations.deg, stations.value)
    )
    return deg, value


def _places(centre: Point, deg: Floats, at: Floats | float) -> list[Point]:
    """Where angles lie on the picture, `at` columns from the centre."""
    rad = np.radians(deg)
    xs, ys = centre[0] + at * np.sin(rad), centre[1] - at * np.cos(rad)
    return list(zip(xs.tolist(), ys.tolist(), strict=True))
