"""What the keys do, over whatever is on the screen."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from ...widgets.lines import Lines
from ..base import Box


class HelpScreen(Box[None]):
    """A box of text; any of the usual keys closes it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,question_mark,h,q,space,enter", "close", "Close", priority=True)
    ]
    DEFAULT_CSS = """
    HelpScreen { align: center middle; }
    HelpScreen #box { width: auto; max-width: 96%; height: auto; max-height: 90%; padding: 1 2; }
    HelpScreen #box { background: $panel; color: $foreground; border: heavy $primary; }
    """

    def __init__(self, lines: list[str]) -> None:
        """The lines to show."""
        super().__init__()
        self._text = "\n".join([*lines, "", "Esc closes"])

    def compose(self) -> ComposeResult:
        """The box."""
        yield Lines(self._text, id="box")

    def action_close(self) -> None:
        """Back."""
        self.dismiss(None)
