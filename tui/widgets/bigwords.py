"""A few capitals and digits, as large as the room allows: the one thing to be read from two metres."""

from typing import Final

from ..draw.pixelfont import ROWS, dots
from ..draw.raster import Raster, Rows
from ..terminal import Glyphs
from .rasterwidget import RasterWidget

_BROADEST: Final = 1.5
"""Of its height, a dot: broader letters are hard to read."""


class BigWords(RasterWidget):
    """One line of capitals, digits and "+-.:"."""

    DEFAULT_CSS = "BigWords { height: 7; }"

    def __init__(self, glyphs: Glyphs, text: str = "", *, style: str = "word", id: str | None = None) -> None:
        """text: lines of it, each as large as the largest can be; style: a name of `RasterWidget`'s."""
        super().__init__(glyphs, id=id)
        self._text, self._style = text, style

    def show(self, text: str) -> None:
        """Another line."""
        if text != self._text:
            self._text = text
            self.stale()

    def drawing(self, width: int, height: int) -> Rows:
        """Large letters; plain ones where there is no room for them."""
        raster = Raster(width, height, self._glyphs)
        lines = self._text.splitlines()
        if lines and not self._large(raster, lines):
            for row, line in enumerate(lines):
                raster.text(self._style, 0, row, line)
        return raster.rows()

    def _large(self, raster: Raster, lines: list[str]) -> bool:
        """All lines in dots of one size, a dot apart; False where even the smallest are too large."""
        patterns = [dots(line.upper()) for line in lines]
        gap = 2 if len(lines) > 1 else 0
        tall = len(lines) * (ROWS + gap) - gap
        widest = max(len(pattern[0]) for pattern in patterns)
        size = raster.largest(widest, tall, (raster.width, 2.0 * raster.height))
        if size[0] <= 0.0:
            return False
        size = (min(size[0], _BROADEST * size[1]), size[1])
        for k, pattern in enumerate(patterns):
            raster.bitmap(self._style, (0.0, k * (ROWS + gap) * size[1]), pattern, size)
        return True
