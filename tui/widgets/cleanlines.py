"""What a screen shows, cleaned of what would steer the terminal: the last thing before it is drawn."""

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

from ..output import UNSAFE


class CleanLines(LineFilter):
    """Drops the characters that `tui.output` spells out; they have no width, so nothing moves."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """The same segments with clean text."""
        if not any(UNSAFE.search(segment.text) for segment in segments):
            return segments
        return [Segment(UNSAFE.sub("", text), style, control) for text, style, control in segments]
