"""The measuring screen of a live sweep: what only makes sense while it is being made."""

import math
import time
from typing import ClassVar, Final

from textual import work
from textual.binding import Binding, BindingType

from ...job.sweep.news import News, What
from ...job.sweep.run import SweepRun
from ...job.sweep.view import View
from ...say.sweep.sweepwords import ENDS
from ...voice import Speaker
from ..small.askscreens import AskScreen, QuestionScreen
from .sweepscreen import SweepScreen

_SEEN_S: Final = 1.5
"""A press meant for the last station does not finish: that all are read must have stood there so long."""

_TWICE_S: Final = 6.0
"""A key that ends a sweep too early must come twice within so long."""


class LiveScreen(SweepScreen):
    """Work a sweep: retake, note, pause, another turn, the other way."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("r", "retake", "Retake"),
        Binding("n", "note", "Note"),
        Binding("p", "pause", "Pause"),
        Binding("t", "turn(False)", "One more turn"),
        Binding("o", "turn(True)", "The other way"),
    ]

    def __init__(self, run: SweepRun, *, go_on_after: float | None = None) -> None:
        """`run`: the sweep, which plays itself."""
        super().__init__(run, go_on_after=go_on_after)
        self.run = run
        self._finish_asked = -_TWICE_S
        self._all_read_at = math.inf
        self._speaker: Speaker | None = None

    def redraw(self) -> None:
        """As every measuring screen; and say what is new, where a voice is wanted."""
        super().redraw()
        voice = self.app.voice
        if voice is not None:
            self._speaker = self._speaker or Speaker(voice)
            self._speaker.look(self.show.view(), self.app.unit, self.show.result)

    def on_mount(self) -> None:
        """Nothing is taken while the program is stopped (Ctrl+Z): the crank may be turned meanwhile."""
        self.app.app_suspend_signal.subscribe(self, lambda _: self._hold())

    def _hold(self) -> None:
        if not self.run.view().paused and not self.run.finished.is_set():
            self.run.pause()

    def prompt_words(self, view: View) -> str:
        """The one instruction; once all is read, the same key finishes."""
        if view.task.do not in ENDS:
            self._all_read_at = math.inf
            return super().prompt_words(view)
        self._all_read_at = min(self._all_read_at, time.monotonic())
        return ENDS[view.task.do]

    def key_line(self, view: View) -> str:
        """Where angles come by themselves nothing is taken, or taken back."""
        return super().key_line(view) if view.planned else "F finish   N note   P pause"

    def take(self) -> None:
        """The station that is due; once all are read, and that could be seen, this key finishes: a pedal
        can do a whole sweep."""
        if self.run.view().task.do not in ENDS:
            super().take()
        elif self.app.pressed_at - self._all_read_at > _SEEN_S:
            self.action_finish()
        else:
            self.run.say(News(What.JUST_READ))

    def action_finish(self) -> None:
        """End the sweep; with stations still due only if asked twice, for it cannot be gone on with."""
        due, now = self.run.remaining, time.monotonic()
        if due and not self.run.finished.is_set() and now - self._finish_asked > _TWICE_S:
            self._finish_asked = now
            what = What.STILL_DUE if self.run.pipeline.tells() else What.STILL_TOO_FEW
            self.run.say(News(what, number=due))
            return
        super().action_finish()

    def action_leave(self) -> None:
        """Leave; in mid-sweep only after a question."""
        if self.failure is None and self.begun(self.run.view()):
            self._ask_whether_to_leave()
        else:
            self.dismiss(False)

    def begun(self, view: View) -> bool:
        """Whether there is anything that leaving would break off."""
        return not view.finished and bool(len(view.stations) or view.samples)

    @work
    async def _ask_whether_to_leave(self) -> None:
        view = self.run.view()
        question = f"Leave this sweep? {len(view.stations)} stations are read. Nothing is thrown away."
        answers = [
            ("g", "", "go on with the sweep"),
            ("s,q", "stop", "stop here, and keep it: it can be gone on with"),
        ]
        if await self.app.push_screen_wait(QuestionScreen(question, answers)) != "stop":
            return
        self.dismiss(False)

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
