"""Options in a table, one of them chosen: marked by a sign and in bold, not by colour alone."""

from ..draw.raster import Rows
from .rasterwidget import RasterWidget


class OptionList(RasterWidget):
    """Rows of text; what does not fit rolls so that the chosen one is to be seen."""

    def __init__(self, head: list[str], rows: list[str], at: int, id: str | None = None) -> None:
        """at: which row is chosen, from 0."""
        super().__init__(id=id)
        self._head, self._rows, self._at = head, rows, at

    def drawing(self, width: int, height: int) -> Rows:
        """Head, then rows."""
        room = max(height - len(self._head), 1)
        first = min(max(self._at - room + 1, 0), max(len(self._rows) - room, 0))
        drawn: Rows = [[(f" {line}", "hour")] for line in self._head]
        for k, line in enumerate(self._rows[first : first + room], start=first):
            chosen = k == self._at
            hidden = first + room < len(self._rows) and k == first + room - 1
            drawn.append(
                [
                    (
                        f"{'>' if chosen else ' '} {line}{' ...' if hidden else ''}",
                        "arrow" if chosen else "hour",
                    )
                ]
            )
        return drawn
