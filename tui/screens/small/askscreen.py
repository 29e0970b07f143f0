"""One question, one line of answer."""

from typing import ClassVar, Final

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import Input

from ...widgets.lines import Lines
from ..base import Box

DROPS: Final = "Enter keeps what was typed; Esc again drops it."


class AskScreen(Box[str]):
    """Dismissed with what was typed; with nothing on Escape, which is asked for twice where something was."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "give_up", "Back", priority=True)]
    DEFAULT_CSS = """
    AskScreen { align: center middle; }
    AskScreen Vertical { width: 60; max-width: 96%; height: auto; padding: 1 2; }
    AskScreen Vertical { background: $panel; border: heavy $primary; }
    """

    def __init__(self, question: str) -> None:
        super().__init__()
        self._question, self._warned = question, False

    def compose(self) -> ComposeResult:
        """Question and field."""
        with Vertical():
            yield Lines(self._question)
            yield Input(max_length=200)
            yield Lines(id="said")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter."""
        self.dismiss(event.value.strip())

    def action_give_up(self) -> None:
        """Escape: what was typed is not dropped in silence."""
        if self.query_one(Input).value.strip() and not self._warned:
            self._warned = True
            self.query_one("#said", Lines).show(DROPS)
            return
        self.dismiss("")
