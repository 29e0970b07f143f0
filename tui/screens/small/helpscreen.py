"""What the keys do, over whatever is on the screen."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from ...widgets.lines import Lines
from ..base import Box
from .manualscreen import ManualScreen


class HelpScreen(Box[None]):
    """A box of text; any of the usual keys closes it, and the one that opened it opens the manual."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,h,q,space,enter", "close", "Close", priority=True),
        Binding("question_mark,f1", "manual", "Manual", priority=True),
    ]
    DEFAULT_CSS = """
    HelpScreen { align: center middle; }
    HelpScreen #box { width: auto; max-width: 96%; height: auto; max-height: 90%; padding: 1 2; }
    HelpScreen #box { background: $panel; color: $foreground; border: heavy $primary; }
    """

    def __init__(self, lines: list[str], topic: str = "screen") -> None:
        """The lines to show, and the page of the manual that tells more."""
        super().__init__()
        self._text, self._topic = "\n".join([*lines, "", "Esc closes   ? the manual"]), topic

    def compose(self) -> ComposeResult:
        """The box."""
        yield Lines(self._text, id="box")

    def action_manual(self) -> None:
        """More than keys."""
        self.app.switch_screen(ManualScreen(self._topic))

    def action_close(self) -> None:
        """Back."""
        self.dismiss(None)
