"""What the keys do, over whatever is on the screen."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical

from ...widgets.textlines import KeyLine
from ..base import Box, more
from .manualscreen import ManualScreen


class HelpScreen(Box[None]):
    """A box of text; any of the usual keys closes it, and the one that opened it opens the manual."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,h,q,space,enter", "leave", "Close", priority=True),
        Binding("question_mark,f1", "manual", "Manual", priority=True),
    ]
    DEFAULT_CSS = """
    HelpScreen #box, HelpScreen .more, HelpScreen .more > Lines { width: auto; }
    HelpScreen .more > Lines { max-width: 85vw; }
    """

    def __init__(self, lines: list[str], topic: str = "screen") -> None:
        """The lines to show, and the page of the manual that tells more."""
        super().__init__()
        self._text, self._topic = "\n".join(lines), topic

    def compose(self) -> ComposeResult:
        """The box."""
        with Vertical(id="box"):
            yield more(KeyLine(self._text, id="text"))
            yield KeyLine("Esc closes   ? the manual", id="keys")

    def action_manual(self) -> None:
        """More than keys."""
        self.app.switch_screen(ManualScreen(self._topic))
