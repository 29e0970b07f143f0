"""The dial's reading, as large as the room allows."""

from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget

from ..lengths import number
from ..pixelfont import draw


class BigReading(Widget):
    """Digits to be read from two metres, with the unit beside them."""

    DEFAULT_CSS = """
    BigReading { height: 7; color: $foreground; text-style: bold; }
    """

    def __init__(self, *, plain: bool = False, id: str | None = None) -> None:
        """`plain`: draw with ASCII characters only."""
        super().__init__(id=id)
        self._plain = plain
        self._text: str | None = None
        self._unit = ""
        self._lines: list[str] = []

    def show(self, reading: float | None, unit: str) -> None:
        """A reading in mm, shown in `unit`; None for none yet."""
        text = None if reading is None else number(reading, unit, signed=True)
        if (text, unit) != (self._text, self._unit):
            self._text, self._unit = text, unit
            self._lines = []
            self.refresh()

    def on_resize(self) -> None:
        """Draw anew at the new size."""
        self._lines = []

    def render_line(self, y: int) -> Strip:
        """One row of the digits; the unit stands beside the last row."""
        width = self.size.width
        if not self._lines:
            if self._text is None:
                self._lines = ["", "", "no reading yet".center(width)]
            else:
                room = max(width - 6, 1)
                self._lines = [line.rstrip().ljust(room) for line in draw(
                    self._text, room, self.size.height, plain=self._plain)]  # fmt: skip
                self._lines[-1] += f" {self._unit}"
        line = self._lines[y] if y < len(self._lines) else ""
        return Strip([Segment(line[:width].ljust(width), self.rich_style)], width)
