"""A question with a few answers, each with its key. A pedal always means: go on as before."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from ..widgets.lines import Lines


class QuestionScreen(ModalScreen[str]):
    """Dismissed with the name of the answer; with "" on Escape, or by the pedal."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "answer('')", "Back", priority=True)]
    DEFAULT_CSS = """
    QuestionScreen { align: center middle; }
    QuestionScreen Vertical { width: 64; max-width: 96%; height: auto; padding: 1 2; }
    QuestionScreen Vertical { background: $panel; color: $foreground; border: heavy $primary; }
    """

    def __init__(self, question: str, answers: list[tuple[str, str, str]]) -> None:
        """answers: (keys joined by commas, name, words to show)."""
        super().__init__()
        self._question, self._answers = question, answers

    def compose(self) -> ComposeResult:
        """The question, and a line for each answer."""
        with Vertical():
            words = [f"{keys.split(',')[0].upper():<6} {text}" for keys, _, text in self._answers]
            yield Lines("\n".join([self._question, "", *words]), id="question")

    def on_mount(self) -> None:
        """Only the keys of the answers are heard."""
        for keys, name, _ in self._answers:
            self._bindings.bind(keys, f"answer('{name}')", priority=True)
        for key in self.app.preferences.take_keys:  # type: ignore[attr-defined]
            self._bindings.bind(key, "answer('')", priority=True)

    def action_answer(self, name: str) -> None:
        """One of them."""
        self.dismiss(name)
