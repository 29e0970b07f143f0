"""The measuring screen: the dial, what to do now, the round plot and the finding so far."""

import asyncio
import gc
import time
from typing import Any, ClassVar, Final, Protocol

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical

from coaxly.fitter import Result

from ...entry.lengths import show_length
from ...errors import RUN_ERRORS
from ...job.sweep.view import SECONDS, View
from ...say.smallwords import capital, shortened
from ...say.sweep import live as phrases
from ...say.sweep.finished import answer, way
from ...say.sweep.sweepwords import large, prompt, told
from ...widgets.bigwords import BigReading, BigWords
from ...widgets.outlookbar import OutlookBar
from ...widgets.roundplot import RoundPicture, RoundPlot
from ...widgets.textlines import KeyLine, Lines
from ...widgets.trace import Trace
from ...widgets.verdict import Verdict
from ..base import LEAST, LOW, CoaxlyScreen, Countdown, more

REDRAW_S: Final = 1.0 / 12.0
_PICTURE_S: Final = 0.2
"""Between two pictures of a turning crank: nobody sees more, and each is as much to draw and to send as all
the rest. Digits are drawn every time."""

_NESTED: Final = ("#status", "#plot", "#findings", "#finding", "#trace")

_WANTS: Final = f"(All of it wants {LEAST[0]} x {LEAST[1]}.)"


class Show(Protocol):
    """A sweep that can be watched: live, on the rig, or replayed."""

    @property
    def result(self) -> Result | None:
        """The finding, once finished."""

    def view(self) -> View:
        """What there is to see now."""

    async def play(self) -> None:
        """Let it happen, to its end. Raises LoggerError."""

    def confirm(self) -> None:
        """Take the station that is due."""

    def undo(self) -> None:
        """Take the last station back."""

    def finish(self) -> None:
        """End the sweep."""

    def stop(self) -> None:
        """Leave off, and keep what there is to be gone on with."""


_KEYS: Final = [
    "space, enter, page down   take the station that is due (or a pedal)",
    "again while it moves      take the dial as it stands",
    "U  take the last station back      R  read it again here",
    "F  finish here                     N  note a few words",
    "P  pause, go on                    T  one more turn",
    "O  one more, the other way         Up, Down  more of the finding",
    "M  thou, in, mm, um                D  digits only, large",
    "Q  stop, kept for later            ?  this page",
]

_STYLE: Final = """
SweepScreen #top { height: 7; }
SweepScreen #reading { width: 1fr; height: 100%; }
SweepScreen #status { width: 26; padding: 0 1; }
SweepScreen #body { height: 1fr; }
SweepScreen #plot { width: 1fr; height: 100%; }
SweepScreen #side { width: 38; padding: 0 1; }
SweepScreen #next { display: none; height: 5; margin: 1 0 1 0; }
SweepScreen.tall #next { display: block; }
SweepScreen.huge #next { height: 11; margin: 1 0 1 0; }
SweepScreen.huge #side { width: 64; }
SweepScreen.huge.done #side { width: 38; }
SweepScreen.done #next { display: none; }
SweepScreen #prompt { height: auto; min-height: 3; padding: 0 1; border: heavy $primary; }
SweepScreen #prompt { color: $primary; text-style: bold; }
SweepScreen #message { height: auto; padding: 0 1; color: $secondary; }
SweepScreen #findings { height: 1fr; scrollbar-size-vertical: 0; }
SweepScreen #keys { dock: none; }
SweepScreen #trace { dock: bottom; height: 3; }
SweepScreen.done #trace { display: none; }
SweepScreen #verdict { display: none; width: 1fr; height: 100%; }
SweepScreen.judged #verdict { display: block; }
SweepScreen.tall #sure { height: 5; margin: 1 0 0 0; }
SweepScreen.passing #sure, SweepScreen.done #sure { display: none; }
SweepScreen.low #sure, SweepScreen.digits #sure { display: none; }
SweepScreen.judged #reading, SweepScreen.judged #status { display: none; }
SweepScreen.low #top { height: 5; }
SweepScreen.judged #top { height: 8; }
SweepScreen #small { display: none; padding: 1; text-style: bold; }
SweepScreen.small > * { display: none; }
SweepScreen.small > #small, SweepScreen.small > #keys { display: block; }
SweepScreen.small > #keys { dock: bottom; }
SweepScreen.narrow #side { width: 32; }
SweepScreen.tall #top { height: 11; }
SweepScreen.huge #top { height: 14; }
SweepScreen.digits #body { height: 6; }
SweepScreen.digits #top { height: 1fr; }
SweepScreen.digits #plot, SweepScreen.digits #status { display: none; }
SweepScreen.digits #side { width: 1fr; }
"""


def _round_picture(view: View, result: Result | None, unit: str) -> RoundPicture:
    """The sweep as it stands. It points where the words beside it do, and nowhere where they do not."""
    estimate = view.estimate
    move = phrases.heading(view) if result is None else way(result, unit).deg
    return RoundPicture(
        stations=view.stations,
        mean=estimate.mean if estimate else None,
        vector=(estimate.x, estimate.y) if estimate else None,
        move_deg=move,
        permitted=view.limit / 2.0,
        due=() if view.finished else _due(view),
        inside=view.inside,
        scatter=estimate.scatter if estimate else 0.0,
    )


def _due(view: View) -> tuple[tuple[float, float], ...]:
    """Where stations are due, and by what share each would make the bar narrower."""
    if view.outlook is None:
        return tuple((deg, 0.0) for deg in view.due)
    now = view.outlook.eccentricity.u95_amount
    return tuple((deg, 1.0 - after / now) for deg, after in zip(view.due, view.outlook.after, strict=True))


class _Pictures:
    """Whether there is news to be drawn in the round plot."""

    def __init__(self) -> None:
        self._drawn: tuple[Any, ...] = ()
        self._at = -_PICTURE_S

    def due(self, view: View) -> bool:
        """Whether to draw now: true once for the same news."""
        news = (len(view.stations), view.samples if not view.planned else 0, view.due, view.finished)
        now = time.monotonic()
        if news == self._drawn or (not view.finished and now - self._at < _PICTURE_S):
            return False
        self._drawn, self._at = news, now
        return True


class SweepScreen(CoaxlyScreen[bool]):
    """Watch and work one sweep. Dismissed with True to go on, False to leave."""

    AUTO_FOCUS = None
    leaving = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("u", "undo", "Undo"),
        Binding("f", "finish", "Finish"),
        Binding("d", "digits", "Digits only"),
    ]
    KEY_PAGE: ClassVar[list[str]] = _KEYS
    KEY_LINE: ClassVar[str] = "Space take   U undo   R retake   F finish"
    DONE_LINE: ClassVar[str] = "Space go on"
    DEFAULT_CSS = _STYLE

    def __init__(self, show: Show, *, go_on_after: float | None = None) -> None:
        """`go_on_after`: seconds after which a finished sweep goes on by itself (for the demo)."""
        super().__init__()
        self.show = show
        self.failure: str | None = None
        self._countdown = Countdown(go_on_after)
        self._sweeping: asyncio.Task[None] | None = None
        self._built = False
        self._pictures = _Pictures()
        self._rung = 0

    def told_to_end(self) -> None:
        """Leave off, and keep what there is."""
        self.show.stop()

    def compose(self) -> ComposeResult:
        """Title, dial and status, plot and words, keys."""
        glyphs = self.app.glyphs
        yield Lines(id="title")
        with Horizontal(id="top"):
            yield BigReading(glyphs, id="reading")
            yield Lines(id="status")
            yield Verdict(glyphs, id="verdict")
        yield OutlookBar(glyphs, id="sure")
        with Horizontal(id="body"):
            yield RoundPlot(glyphs, id="plot")
            with Vertical(id="side"):
                yield BigWords(glyphs, id="next")
                yield Lines(id="prompt")
                yield more(Lines(id="finding"), id="findings")
                yield Trace(glyphs, SECONDS, id="trace")
        yield Lines(id="message")
        yield KeyLine(id="keys")
        yield Lines(id="small")

    def on_mount(self) -> None:
        """Start the sweep and the redraw timer."""
        # Whatever the pedal presses takes a station, even where something else has the focus.
        self.bind_pedal("take")
        # A full collection over the many objects of a screen would delay readings by 20 ms.
        gc.collect()
        gc.freeze()
        self._sweeping = asyncio.create_task(self._play())
        self.set_interval(REDRAW_S, self.redraw)
        self.redraw()

    def status_words(self, view: View) -> str:
        """Line, dial and progress."""
        return phrases.status(view)

    def prompt_words(self, view: View) -> str:
        """The one instruction."""
        return capital(prompt(view.task))

    def key_line(self, view: View) -> str:
        """What the keys do while it goes on."""
        return self.KEY_LINE

    def is_live(self, view: View) -> bool:
        """Whether the reading is one of now."""
        return phrases.speaking(view)

    def on_resize(self) -> None:
        """Larger digits where there is room."""
        width, height = self.size
        self.set_class(width >= 112 and height >= 32, "tall")
        self.set_class(width >= 140 and height >= 44, "huge")
        self.set_class(width < 76, "narrow")
        self.set_class(height < LOW, "low")
        self.set_class(width < LEAST[0] or height < LEAST[1], "small")

    async def on_unmount(self) -> None:
        """Whatever closes the screen, the recording is sealed."""
        if self._sweeping is not None and not self._sweeping.done():
            self.show.stop()
            self._sweeping.cancel()
            await asyncio.gather(self._sweeping, return_exceptions=True)

    async def _play(self) -> None:
        try:
            await self.show.play()
        except RUN_ERRORS as error:
            self.failure = str(error)

    def redraw(self) -> None:
        """Bring the widgets up to date with the sweep; called by the timer only."""
        self._built = self._built or all(self.query(name) for name in _NESTED)
        if not self._built:
            return  # containers build their children a little after the screen itself
        view = self.show.view()
        unit = self.app.unit
        result = self.show.result
        self.query_one("#title", Lines).show(self._title(view))
        self.query_one("#reading", BigReading).show(view.reading, unit, live=self.is_live(view))
        self.query_one("#status", Lines).show(self.status_words(view))
        if result is not None:
            self.query_one(Verdict).show(answer(result, unit, phrases.status(view).splitlines()[0]))
        self.query_one(OutlookBar).show(phrases.bar(view, unit))
        self.query_one("#prompt", Lines).show(self._prompt(view))
        self.query_one("#next", BigWords).show("" if self.failure is not None else large(view.task))
        message = self.query_one("#message", Lines)
        message.show("" if view.finished else told(view.news, unit))
        message.display = bool(message.text)
        words = phrases.finding(result, unit) if result else phrases.so_far(view, unit)
        self.query_one("#finding", Lines).show(words)
        hint = self.DONE_LINE if view.finished else self.key_line(view)
        if self.failure is not None:
            hint = "Space back"
        down = "   Down more" if self.rolls() else ""
        self.query_one("#keys", Lines).show(f"{hint}{down}   M unit   ? help   Q quit")
        if self.has_class("small"):
            self._in_short(view, [message.text, words if view.finished else _WANTS])
        self.query_one(Trace).show(view.trace, view.band)
        self.set_class(view.finished, "done")
        self.set_class(view.stations.continuous, "passing")
        self.set_class(result is not None, "judged")
        stopped_at = (
            0 if view.stations.continuous else len(view.stations)
        )  # a sector passed over wants no hand
        if stopped_at > self._rung:
            self.app.bell()
        self._rung = stopped_at
        if self._pictures.due(view):
            self.query_one(RoundPlot).show(_round_picture(view, result, unit))
        self._go_on_when_due(view)

    def _title(self, view: View) -> str:
        """One line: whence clocks are seen is told before the name of the file."""
        title, seen = shortened(view.title), "seen from behind"
        whole = f"{title}   {view.recording}   {seen}"
        return whole if len(whole) <= self.size.width - 2 else f"{title}   {seen}"

    def _in_short(self, view: View, more: list[str]) -> None:
        reading = "no reading now"
        if view.reading is not None and self.is_live(view):
            reading = show_length(view.reading, self.app.unit, signed=True)
        self.query_one("#small", Lines).show("\n".join(filter(None, [reading, self._prompt(view), *more])))

    def _prompt(self, view: View) -> str:
        if self.failure is not None:
            return f"STOPPED. {self.failure}"
        if not view.finished:
            return self.prompt_words(view)
        return f"Sweep finished. {', '.join(filter(None, ('Space goes on', self._countdown.words)))}."

    def _go_on_when_due(self, view: View) -> None:
        if not view.finished or self.failure is not None or not self.is_current:
            return
        self._countdown.begin()
        if self._countdown.over:
            self.dismiss(True)

    def action_take(self) -> None:
        """Take the station that is due; go on once the sweep is finished."""
        if self.is_held():
            return
        if self.failure is not None:
            self.dismiss(False)
        elif self.show.view().finished:
            self.dismiss(self.show.result is not None)
        else:
            self.take()

    def take(self) -> None:
        """Take the station that is due."""
        self.show.confirm()

    def action_undo(self) -> None:
        """Take the last station back."""
        self.show.undo()

    def action_finish(self) -> None:
        """End the sweep here."""
        self.show.finish()

    def action_digits(self) -> None:
        """Only the digits, as large as the screen, or everything again."""
        self.toggle_class("digits")

    def key_page(self) -> list[str]:
        """What the keys do."""
        return self.KEY_PAGE
