"""One question, one line of answer."""

from typing import ClassVar, Final

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Input

from ...widgets.lines import Lines
from ..base import Box, more

DROPS: Final = "Enter keeps what was typed; Esc again drops it."


class AskScreen(Box[str]):
    """Dismissed with what was typed; with nothing on Escape, which is asked for twice where something was."""

    DEFAULT_CSS = "AskScreen #box { width: 60; }"
    BESIDE: ClassVar[int] = 5

    def __init__(self, question: str) -> None:
        super().__init__()
        self._question, self._warned = question, False

    def compose(self) -> ComposeResult:
        """Question and field."""
        with Vertical(id="box"):
            yield more(Lines(self._question, id="question"))
            yield Input(max_length=200)
            yield Lines(id="said")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter."""
        self.dismiss(event.value.strip())

    def action_leave(self) -> None:
        """Escape: what was typed is not dropped in silence."""
        if self.query_one(Input).value.strip() and not self._warned:
            self._warned = True
            self.query_one("#said", Lines).show(DROPS)
            return
        self.dismiss("")
