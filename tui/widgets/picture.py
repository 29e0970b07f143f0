"""Any picture that does not move: something that draws itself into a raster of the widget's size."""

from collections.abc import Callable

from ..draw.raster import Raster, Rows
from ..terminal import Dots, Glyphs
from .rasterwidget import RasterWidget

Drawn = Callable[[int, int, Dots], Raster]
"""Draws into so many columns and rows of such dots."""


class Picture(RasterWidget):
    """Drawn once a size, in characters."""

    DEFAULT_CSS = "Picture { min-width: 12; min-height: 5; }"

    def __init__(self, glyphs: Glyphs, drawn: Drawn, id: str | None = None) -> None:
        """`drawn`: see `Drawn`."""
        super().__init__(glyphs, id=id)
        self._picture = drawn

    def drawing(self, width: int, height: int) -> Rows:
        """The picture."""
        return self._picture(width, height, self._glyphs).rows()
