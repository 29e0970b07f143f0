"""A sweep is done: is it good? The verdict is largest; which way, what spoils the reading, what is next."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical

from coaxly.fitter import Result
from coaxly.fitter.withheld import doubted

from ...draw.wayplot import draw_way
from ...say.sweep.findings import sureness
from ...say.sweep.finished import answer, figures, head_line, spoils, way, whose_limit
from ...widgets.bigwords import BigWords
from ...widgets.textlines import Lines
from ...widgets.verdict import Verdict
from ..base import more
from ..sheet import Key, Sheet

Next = Literal["on", "again", "report", "sure", "leave"]


@dataclass(frozen=True)
class Swept:
    """What there is to say of a finished sweep. then: what comes next, in words ("choose dowels"); report:
    whether one can be written; again: whether it can be swept again; leave: where Q leads."""

    title: str
    stage: str
    result: Result
    sealed: bool = True
    then: str = ""
    report: bool = False
    again: bool = True
    leave: str = "leave"


class DoneScreen(Sheet[Next]):
    """Dismissed with what is wanted next."""

    TOPIC = "numbers"
    leaving = "leave"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("s", "answer('again')", "Sweep again"),
        Binding("r", "answer('report')", "Report"),
        Binding("k", "answer('sure')", "All is well"),
    ]
    DEFAULT_CSS = """
    DoneScreen #side { width: 52%; }
    DoneScreen #towards { height: auto; text-style: bold; }
    DoneScreen #clock { height: 4; }
    DoneScreen.tall #clock { height: 8; }
    DoneScreen.huge #clock { height: 15; }
    DoneScreen #tail { height: auto; }
    DoneScreen #next { height: auto; color: $primary; text-style: bold; }
    DoneScreen #spoils { height: 1fr; }
    """

    def __init__(self, swept: Swept, *, go_on_after: float | None = None) -> None:
        """The sweep; go_on_after: seconds after which it goes on by itself (for the demo)."""
        super().__init__(go_on_after=go_on_after)
        self.swept = swept

    def title_words(self) -> str:
        """What was swept, and that it is kept."""
        swept = self.swept
        return head_line(swept.title, swept.stage, swept.result, swept.sealed)

    def keys(self) -> list[Key]:
        """On, again, report, out."""
        swept = self.swept
        report = [("R", "report")] if swept.report and swept.then != "report" else []
        on = [("Space", swept.then)] if swept.then else []
        again = [("S", "sweep again")] if swept.again else []
        sure = [("K", "all is well, I made sure")] if self._doubtful else []
        return [*on, *again, *sure, *report, ("Q", swept.leave)]

    @property
    def _doubtful(self) -> bool:
        """Whether there is a doubt, and a job in which somebody may say that it is none."""
        return self.swept.report and bool(doubted(self.swept.result))

    def body(self) -> ComposeResult:
        """Verdict above; the arrow, and beside it where to and what spoils."""
        result, unit, glyphs = self.swept.result, self.unit, self.app.glyphs
        to = way(result, unit)
        yield Verdict(glyphs, answer(result, unit, sureness(result.decision)), id="verdict")
        with Horizontal(id="below"):
            yield self.picture(draw_way, to.deg, to.size)
            with Vertical(id="side"):
                yield Lines("\n".join(to.head), id="towards")
                if to.clock:
                    yield BigWords(glyphs, to.clock, style="arrow", id="clock")
                yield Lines(to.tail, id="tail")
                yield Lines(self._next_words(), id="next")
                said = [*whose_limit(result), *spoils(result, unit), *figures(result, unit)]
                yield more(Lines("\n".join(said), id="said"), id="spoils")

    def _next_words(self) -> str:
        then = ", ".join(filter(None, (self.swept.then, self.countdown.words)))
        return f"NEXT: {then}" if self.swept.then else ""

    def tell_time(self) -> None:
        """It stands with what comes next."""
        self.tell("next", self._next_words())

    def go_on(self) -> None:
        """The next step."""
        if self.swept.then:
            self.dismiss("on")

    def action_answer(self, wanted: Next) -> None:
        """Sweep again, or a report."""
        offered = {"report": self.swept.report, "again": self.swept.again, "sure": self._doubtful}
        if offered.get(wanted, True):
            self.dismiss(wanted)
