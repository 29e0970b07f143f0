"""The last seconds of the dial, with the band within which it counts as steady."""

from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from ..raster import Glyphs, Raster


class Trace(Widget):
    """A line of readings, newest at the right."""

    COMPONENT_CLASSES = {"trace--band", "trace--line"}  # noqa: RUF012
    DEFAULT_CSS = """
    Trace { height: 3; }
    Trace > .trace--band { color: $foreground 55%; }
    Trace > .trace--line { color: $secondary; text-style: bold; }
    """

    def __init__(self, glyphs: Glyphs, seconds: float, id: str | None = None) -> None:
        """`seconds`: how much is shown."""
        super().__init__(id=id)
        self._glyphs, self._seconds = glyphs, seconds
        self._points: tuple[tuple[float, float], ...] = ()
        self._band = 0.0

    def show(self, points: tuple[tuple[float, float], ...], band: float) -> None:
        """Points (t in s, reading in mm) in order of time; band: steady, in mm."""
        if points != self._points:
            self._points, self._band = points, band
            self.refresh()

    def render_line(self, y: int) -> Strip:
        """One row; the picture is small enough to be drawn for each."""
        width, height = self.size
        raster = Raster(width, height, self._glyphs)
        if self._points:
            end, last = self._points[-1]
            span = max(max(abs(v - last) for _, v in self._points), 2.0 * self._band)

            def place(t: float, value: float) -> tuple[float, float]:
                x = width - (end - t) / self._seconds * width
                return x, height * (1.0 - 0.9 * (value - last) / span)

            for edge in (-0.5, 0.5):
                for column in range(0, width, 3):
                    raster.disc("band", (column, place(end, last + edge * self._band)[1]), 0.3)
            for t, value in self._points:
                raster.disc("line", place(t, value), 0.4)
        styles = {"": self.rich_style}
        for name in ("band", "line"):
            styles[name] = self.get_component_rich_style(f"trace--{name}")
        row = raster.rows()[y] if y < height else []
        return Strip([Segment(text, styles[style]) for text, style in row], width)
