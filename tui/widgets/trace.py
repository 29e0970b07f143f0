"""The last seconds of the dial, with the band within which it counts as steady."""

from ..draw.raster import Raster, Rows
from ..terminal import Glyphs
from .rasterwidget import RasterWidget


class Trace(RasterWidget):
    """A line of readings, newest at the right."""

    DEFAULT_CSS = "Trace { height: 3; }"
    _points: tuple[tuple[float, float], ...] = ()
    _band = 0.0

    def __init__(self, glyphs: Glyphs, seconds: float, id: str | None = None) -> None:
        """`seconds`: how much is shown."""
        super().__init__(glyphs, id=id)
        self._seconds = seconds

    def show(self, points: tuple[tuple[float, float], ...], band: float) -> None:
        """Points (t in s, reading in mm) in order of time; band: steady, in mm."""
        if points != self._points:
            self._points, self._band = points, band
            self.stale()

    def drawing(self, width: int, height: int) -> Rows:
        """The band's edges, dotted, and the readings."""
        raster = Raster(width, height, self._glyphs)
        if not self._points:
            return raster.rows()
        end, last = self._points[-1]
        span = max(max(abs(v - last) for _, v in self._points), 2.0 * self._band) or 1.0

        def place(t: float, value: float) -> tuple[float, float]:
            x = width - (end - t) / self._seconds * width
            return x, height * (1.0 - 0.9 * (value - last) / span)

        edges = [place(end, last + edge * self._band)[1] for edge in (-0.5, 0.5)]
        raster.discs("faint", [(column, y) for y in edges for column in range(0, width, 3)], 0.3)
        raster.discs("fit", [place(t, value) for t, value in self._points], 0.4)
        return raster.rows()
