"""Text on the screen: never read as markup, cleaned of whatever would steer the terminal, and drawn anew only
where it changes.
"""

from rich.segment import Segment
from rich.text import Text
from textual.color import Color
from textual.filter import LineFilter
from textual.widgets import Static

from ..output import UNSAFE, clean


class Lines(Static):
    """Lines of text."""

    def __init__(self, text: str = "", *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(_cleaned(text), markup=False, id=id, classes=classes)
        self._shown = text

    @property
    def text(self) -> str:
        """What is shown."""
        return self._shown

    def show(self, text: str) -> None:
        """Show another text. The page is laid out anew only where that takes more or less room: it costs as
        much as everything else of a redraw."""
        if text == self._shown:
            return
        self._shown = text
        before = self._rows()
        self.update(self.drawn(_cleaned(text)), layout=False)
        if self.display and (before is None or before != self._rows()):
            self.refresh(layout=True)

    def _rows(self) -> int | None:
        """How many rows the text takes; None where it is not known, or decides the width as well."""
        width = self.content_size.width
        if not width or self.styles.is_auto_width:
            return None
        return self.get_content_height(self.size, self.app.size, width)

    def drawn(self, text: str) -> str | Text:
        """The text as it is drawn."""
        return text


def _cleaned(text: str) -> str:
    return "\n".join(map(clean, text.split("\n")))


class CleanLines(LineFilter):
    """Drops the characters that `coaxly.output` spells out; they have no width, so nothing moves."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The same segments with clean text."""
        if not any(UNSAFE.search(segment.text) for segment in segments if not segment.control):
            return segments
        # What steers the terminal on purpose (an image) is marked so by whoever draws it; no text can be.
        return [
            segment if segment.control else Segment(UNSAFE.sub("", segment.text), segment.style)
            for segment in segments
        ]
