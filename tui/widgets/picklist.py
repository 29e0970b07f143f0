"""Lines of which one is picked: options in a table, lists of any length. A shape tells which, no colour."""

from collections.abc import Callable

from rich.text import Text
from textual import events
from textual.widget import Widget

from ..draw.raster import Rows
from ..output import clean
from ..say.smallwords import whole_words
from .rasterwidget import RasterWidget


class PickList(Widget):
    """Lines, the picked one marked by a shape and set bold. Only what is seen is asked for."""

    DEFAULT_CSS = "PickList { height: 1fr; padding: 0 1; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._count, self.at = 0, 0
        self._line: Callable[[int, int], str] = lambda k, width: ""

    def show(self, count: int, line: Callable[[int, int], str], at: int) -> None:
        """So many lines, each by its number and the columns it has; `at` is picked."""
        self._count, self._line, self.at = count, line, at
        self.refresh()

    def on_click(self, event: events.Click) -> None:
        """A line is picked by going there; the picked one is taken, as Enter does."""
        height = self.content_size.height
        first = max(min(self.at - height // 2, self._count - height), 0)
        row = first + event.y
        if 0 <= row < self._count:
            keys = ["enter"] if row == self.at else ["down" if row > self.at else "up"] * abs(row - self.at)
            for key in keys:
                self.app.simulate_key(key)

    def render(self) -> Text:
        """The lines round the picked one."""
        width, height = self.content_size
        first = max(min(self.at - height // 2, self._count - height), 0)
        text = Text(no_wrap=True, overflow="ellipsis")
        for k in range(first, min(first + height, self._count)):
            picked = k == self.at
            words = clean(self._line(k, width - 2))
            if len(words) > width - 2:
                words = f"{whole_words(words, max(width - 4, 0))}.."
            text.append(f"{'> ' if picked else '  '}{words}\n", style="bold" if picked else "")
        text.right_crop(1)
        return text


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
