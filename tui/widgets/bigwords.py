"""A few capitals and digits, as large as the room allows: the one thing to be read from two metres."""

from ..draw.raster import Raster, Rows
from ..terminal import Glyphs
from .rasterwidget import RasterWidget
from .verdict import large


class BigWords(RasterWidget):
    """One line of capitals, digits and "+-.:"."""

    DEFAULT_CSS = "BigWords { height: 7; }"

    def __init__(self, glyphs: Glyphs, id: str | None = None) -> None:
        """Nothing to show yet."""
        super().__init__(id=id)
        self._glyphs, self._text = glyphs, ""

    def show(self, text: str) -> None:
        """Another line."""
        if text != self._text:
            self._text = text
            self.stale()

    def drawing(self, width: int, height: int) -> Rows:
        """Large letters; plain ones where there is no room for them."""
        raster = Raster(width, height, self._glyphs)
        if self._text and not large(raster, "word", self._text, (1.0, 0.0, width - 2.0, 2.0 * height)):
            raster.text("word", 1, height // 2, self._text)
        return raster.rows()
