"""Any picture that does not move: something that draws itself into a raster of the widget's size."""

from collections.abc import Callable
from typing import Any, Protocol

from textual.widget import Widget

from ..draw.raster import Raster, Rows
from ..terminal import Dots, Glyphs
from .rasterwidget import RasterWidget

Drawn = Callable[[int, int, Dots], Raster]
"""Draws into so many columns and rows of such dots."""


class Painter(Protocol):
    """What a picture has to know of the program. images: see `image_widget`."""

    glyphs: Glyphs
    images: Any


class Picture(RasterWidget):
    """Drawn once a size, in characters."""

    DEFAULT_CSS = "Picture { min-width: 12; min-height: 5; }"

    def __init__(self, glyphs: Glyphs, drawn: Drawn, id: str | None = None) -> None:
        """`drawn`: see `Drawn`."""
        super().__init__(id=id)
        self._glyphs, self._picture = glyphs, drawn

    def drawing(self, width: int, height: int) -> Rows:
        """The picture."""
        return self._picture(width, height, self._glyphs).rows()


def picture(app: Painter, drawn: Drawn, id: str | None = None) -> Widget:
    """As an image where the terminal shows them, else in characters."""
    if app.images is None:
        return Picture(app.glyphs, drawn, id)
    from .images import ImagePicture

    return ImagePicture(app.images, drawn, id)
