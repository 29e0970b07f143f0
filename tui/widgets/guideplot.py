"""The picture of two dowels as they are to be set, seen from behind."""

from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from fitter.body import Pins
from fitter.plan import Option

from ..guide import draw_guide
from ..raster import Glyphs


class GuidePlot(Widget):
    """Dowels in their holes, high sides as arrows, and the way the housing goes."""

    COMPONENT_CLASSES = {  # noqa: RUF012
        "guide-plot--circle",
        "guide-plot--station",
        "guide-plot--arrow",
        "guide-plot--fit",
        "guide-plot--hour",
    }
    DEFAULT_CSS = """
    GuidePlot > .guide-plot--circle { color: $foreground 55%; }
    GuidePlot > .guide-plot--station { color: $foreground; text-style: bold; }
    GuidePlot > .guide-plot--arrow { color: $primary; text-style: bold; }
    GuidePlot > .guide-plot--fit { color: $secondary; }
    GuidePlot > .guide-plot--hour { color: $foreground; }
    """

    def __init__(self, glyphs: Glyphs, id: str | None = None) -> None:
        """Nothing to show yet."""
        super().__init__(id=id)
        self._glyphs = glyphs
        self._option: Option | None = None
        self._pins: Pins | None = None
        self._rows: list[Strip] = []

    def show(self, option: Option, pins: Pins | None) -> None:
        """Another option."""
        if option is not self._option:
            self._option, self._pins, self._rows = option, pins, []
            self.refresh()

    def on_resize(self) -> None:
        """Draw anew at the new size."""
        self._rows = []

    def render_line(self, y: int) -> Strip:
        """One row of the picture."""
        width, height = self.size
        if not self._rows and self._option is not None:
            styles = {"": self.rich_style}
            for name in ("circle", "station", "arrow", "fit", "hour"):
                styles[name] = self.get_component_rich_style(f"guide-plot--{name}")
            raster = draw_guide(self._option, self._pins, width, height, self._glyphs)
            self._rows = [Strip([Segment(t, styles[s]) for t, s in row], width) for row in raster.rows()]
        return self._rows[y] if y < len(self._rows) else Strip.blank(width, self.rich_style)
