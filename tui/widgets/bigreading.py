"""The dial's reading, as large as the room allows."""

from typing import Final

from ..draw.pixelfont import ROWS, columns, dots
from ..draw.raster import Raster, Rows
from ..entry.lengths import number
from .rasterwidget import RasterWidget

DASHES: Final = "---"
"""In place of a reading that was, from a dial that says nothing now."""


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
