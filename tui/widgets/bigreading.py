"""The dial's reading, as large as the room allows."""

from typing import Final

from ..draw.pixelfont import draw
from ..draw.raster import Rows
from ..entry.lengths import number
from .rasterwidget import RasterWidget

DASHES: Final = "---"
"""In place of a reading that was, from a dial that says nothing now."""


class BigReading(RasterWidget):
    """Digits to be read from two metres, with the unit beside them."""

    DEFAULT_CSS = "BigReading { height: 7; }"

    def __init__(self, *, plain: bool = False, id: str | None = None) -> None:
        """`plain`: draw with ASCII characters only."""
        super().__init__(id=id)
        self._plain = plain
        self._text: str | None = None
        self._unit = ""

    def show(self, reading: float | None, unit: str, *, live: bool = True) -> None:
        """A reading in mm, shown in `unit`; None for none yet. live: the dial shows it now; dashes if not."""
        text = None if reading is None else number(reading, unit, signed=True) if live else DASHES
        if (text, unit) != (self._text, self._unit):
            self._text, self._unit = text, unit
            self.stale()

    def drawing(self, width: int, height: int) -> Rows:
        """The digits; the unit stands beside the last row."""
        if self._text is None:
            return [[("", "")], [("", "")], [("no reading yet".center(width), "word")]]
        room = max(width - 6, 1)
        lines = [
            line.rstrip().ljust(room) for line in draw(self._text, room, height, plain=self._plain)
        ]  # fmt: skip
        lines[-1] += f" {self._unit}"
        return [[(line, "word")] for line in lines]
