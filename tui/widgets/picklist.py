"""Lines to pick one from: as many as there is room for, round the picked one, however many there are."""

from collections.abc import Callable

from rich.text import Text
from textual import events
from textual.widget import Widget

from ..output import clean


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
                words = f"{words[: max(width - 4, 0)]}.."
            text.append(f"{'> ' if picked else '  '}{words}\n", style="bold" if picked else "")
        text.right_crop(1)
        return text
