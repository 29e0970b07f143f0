"""The picture of two dowels as they are to be set, seen from behind."""

from fitter.dowels.pins import Pins
from fitter.dowels.plan import Option

from ..draw.dowelpicture import draw_dowels
from ..draw.raster import Rows
from ..terminal import Glyphs
from .rasterwidget import RasterWidget


class GuidePlot(RasterWidget):
    """Dowels in their holes, as one sees them: slots, marks, and high sides as arrows."""

    def __init__(self, glyphs: Glyphs, id: str | None = None) -> None:
        """Nothing to show yet."""
        super().__init__(id=id)
        self._glyphs = glyphs
        self._option: Option | None = None
        self._pins: Pins | None = None

    def show(self, option: Option, pins: Pins | None) -> None:
        """Another option."""
        if option is not self._option:
            self._option, self._pins = option, pins
            self.stale()

    def drawing(self, width: int, height: int) -> Rows:
        """The picture, or nothing before there is an option."""
        if self._option is None:
            return []
        return draw_dowels(self._option, self._pins, width, height, self._glyphs).rows()
