"""Capitals, or the reading of the dial, as large as the room allows: what is to be read from two metres."""

from typing import Final

from ..draw.pixelfont import ROWS, columns, dots
from ..draw.raster import Raster, Rows
from ..entry.lengths import number
from ..terminal import Glyphs
from .rasterwidget import RasterWidget

_BROADEST: Final = 1.5
"""Of its height, a dot: broader letters are hard to read."""

DASHES: Final = "---"
"""In place of a reading that was, from a dial that says nothing now."""


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


class BigReading(RasterWidget):
    """Digits to be read from two metres, with the unit beside them."""

    DEFAULT_CSS = "BigReading { height: 7; }"

    _text: str | None = None
    _unit = ""

    def show(self, reading: float | None, unit: str, *, live: bool = True) -> None:
        """A reading in mm, shown in `unit`; None for none yet. live: the dial shows it now; dashes if not."""
        text = None if reading is None else number(reading, unit, signed=True) if live else DASHES
        if (text, unit) != (self._text, self._unit):
            self._text, self._unit = text, unit
            self.stale()

    def drawing(self, width: int, height: int) -> Rows:
        """The digits, a dot twice as many columns wide as rows high; the unit stands beside the last row."""
        plain = self._glyphs == "ascii"
        raster = Raster(width, height, "ascii" if plain else "blocks")
        if self._text is None:
            raster.text("word", 0, 2, "no reading yet".center(width))
            return raster.rows()
        room, across = max(width - 6, 1), columns(self._text)
        finest = 2 if plain else 1
        dot = min(room // across, 2 * height // ROWS) // finest * finest
        if dot:
            raster.bitmap("word", ((room - dot * across + 1) // 2, 0.0), dots(self._text), (dot, dot))
        else:
            raster.text("word", 0, 0, self._text.center(room)[:room])
        raster.text("word", room + 1, max((dot * ROWS + 1) // 2 - 1, 0), self._unit)
        return raster.rows()
