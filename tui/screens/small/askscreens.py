"""Questions over whatever is on the screen: answered by a line, or by one of some keys."""

from collections.abc import Awaitable, Callable
from typing import ClassVar, Final, TypeVar

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Input

from ...errors import UsageError, on_screen
from ...widgets.textlines import KeyLine, Lines
from ..base import Box, Program, more

Meant = TypeVar("Meant")

KEYS: Final = "Enter done   Esc back"
DROPS: Final = "Enter keeps what was typed; Esc again drops it."


class AskScreen(Box[str]):
    """Dismissed with what was typed; with nothing on Escape, which is asked for twice where something was."""

    DEFAULT_CSS = "AskScreen #box { width: 60; }"
    BESIDE: ClassVar[int] = 5

    def __init__(self, question: str, typed: str = "") -> None:
        """typed: what stands in the field already, to be mended."""
        super().__init__()
        self._question, self._typed, self._warned = question, typed, False

    def compose(self) -> ComposeResult:
        """Question and field."""
        with Vertical(id="box"):
            yield more(Lines(self._question, id="question"))
            yield Input(self._typed, max_length=200, select_on_focus=False)
            yield KeyLine(KEYS, id="said")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter."""
        self.dismiss(event.value.strip())

    def action_leave(self) -> None:
        """Escape: what was typed is not dropped in silence."""
        if self.query_one(Input).value.strip() and not self._warned:
            self._warned = True
            self.tell("said", DROPS)
            return
        self.dismiss("")


async def understood(app: Program, question: str, use: Callable[[str], Awaitable[Meant]]) -> Meant | None:
    """What comes of the answer; None where there is none. One that is of no use is asked for again, with what
    was typed to be mended. use: raises UsageError or ValueError."""
    amiss = text = ""
    while text := await app.push_screen_wait(AskScreen(amiss + question, text)):
        try:
            return await use(text)
        except (UsageError, ValueError) as error:
            amiss = f"! {on_screen(error)}\n\n"
    return None


class QuestionScreen(Box[str]):
    """Dismissed with the name of the answer; with "" on Escape, or by the pedal if it has no answer. A pedal
    means: go on as before, or what is likeliest."""

    leaving = ""
    DEFAULT_CSS = "QuestionScreen #box { width: 64; }"

    def __init__(
        self,
        question: str,
        answers: list[tuple[str, str, str]],
        *,
        pedal: str = "",
        now: Callable[[], str] | None = None,
    ) -> None:
        """answers: (keys joined by commas, name, words to show). pedal: the answer that a pedal gives. now:
        the question as it is at any moment, where that changes."""
        super().__init__()
        self._now = now
        self._question, self._answers, self._pedal = question, answers, pedal

    def compose(self) -> ComposeResult:
        """The question, and a line for each answer."""
        with Vertical(id="box"):
            words = [self._line(*answer) for answer in self._answers]
            yield more(Lines(f"{self._question}\n", id="question"), KeyLine("\n".join(words), id="answers"))
            if all(name for _, name, _ in self._answers):
                yield KeyLine("Esc    back", id="keys")

    def on_mount(self) -> None:
        """Only the keys of the answers are heard."""
        for keys, name, _ in self._answers:
            self._bindings.bind(keys, f"answer('{name}')", priority=True)
        self.bind_pedal(f"answer('{self._pedal}')")
        if (now := self._now) is not None:
            self.follow(lambda: f"{now()}\n")

    def _line(self, keys: str, name: str, text: str) -> str:
        key = keys.split(",")[0].upper()
        return f"{key:<6} {text}{', or the pedal' if name and name == self._pedal else ''}"
