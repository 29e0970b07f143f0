"""The measuring screen of a live sweep: what only makes sense while it is being made."""

from typing import ClassVar

from textual import work
from textual.binding import Binding, BindingType

from ..sweeprun import SweepRun
from .ask import AskScreen
from .sweep import Show, SweepScreen


class LiveScreen(SweepScreen):
    """Work a sweep: retake, note, pause, another turn, the other way."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("r", "retake", "Retake"),
        Binding("n", "note", "Note"),
        Binding("p", "pause", "Pause"),
        Binding("t", "turn(False)", "One more turn"),
        Binding("o", "turn(True)", "The other way"),
    ]

    def __init__(self, show: Show, run: SweepRun, *, go_on_after: float | None = None) -> None:
        """`run`: the sweep itself, behind the show."""
        super().__init__(show, go_on_after=go_on_after)
        self.run = run

    def action_retake(self) -> None:
        """Read the last station again."""
        self.run.retake()

    @work
    async def action_note(self) -> None:
        """Keep a few words with the recording."""
        words = await self.app.push_screen_wait(AskScreen("Note, kept with the recording:"))
        if words:
            self.run.note(words)

    def action_pause(self) -> None:
        """Hold, or go on."""
        self.run.pause()

    def action_turn(self, back: bool) -> None:
        """All stations once more."""
        self.run.another_turn(back=back)
