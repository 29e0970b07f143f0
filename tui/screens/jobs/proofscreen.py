"""Did it work? The verdict, run-out before and after, what happened, and the cure where one is wanted."""

from dataclasses import dataclass, replace
from typing import ClassVar, Literal

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical

from coaxly.fitter import Result
from coaxly.fitter.dowels.compare import Comparison
from coaxly.fitter.withheld import doubted

from ...draw.proofpicture import Places, draw_proof
from ...say.job.proofwords import Then, before_and_after, cure, loud, proof_lines, shift_lines, then
from ...say.smallwords import shortened
from ...say.sweep.findings import sureness
from ...say.sweep.finished import answer
from ...widgets.bigwords import BigWords
from ...widgets.textlines import Lines
from ...widgets.verdict import Verdict
from ..base import more
from ..sheet import Key, Sheet

Answer = Literal["on", "choose", "again", "report", "leave"]
_THEN: dict[Then, str] = {
    "on": "go on",
    "choose": "choose other dowels",
    "again": "sweep again once it is done",
}
_STYLE = {"inside": "good", "outside": "bad", "unsure": "unsure"}


@dataclass(frozen=True)
class Proven:
    """What there is to prove it by. doubts: sentences on why the sweeps may not be what they say
    they are; report: whether one can be written; leave: where Q leads; again: whether it can be swept
    again, or other dowels chosen."""

    title: str
    found: Result
    left: Result
    comparison: Comparison
    doubts: tuple[str, ...] = ()
    report: bool = False
    leave: str = "leave"
    again: bool = True

    @property
    def places(self) -> Places:
        """Of the bore, before, planned and after."""
        comparison, (x, y) = self.comparison, self.left.eccentricity.vector
        planned = None
        if comparison.planned is not None:
            # From where it was without dowels, which is not where it was swept if some were in.
            (mx, my), (px, py) = comparison.measured.vector, comparison.planned.vector
            planned = (x - mx + px, y - my + py)
        return Places(self.left.decision.limit / 2.0, self.found.eccentricity.vector, planned, (x, y))


class ProofScreen(Sheet[Answer]):
    """Dismissed with what is wanted next."""

    TOPIC = "numbers"
    leaving = "leave"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("p", "answer('choose')", "Choose others"),
        Binding("s", "answer('again')", "Sweep again"),
        Binding("r", "answer('report')", "Report"),
    ]
    DEFAULT_CSS = """
    ProofScreen #side { width: 58%; }
    ProofScreen #cure { height: 4; }
    ProofScreen.tall #cure { height: 7; }
    ProofScreen.huge #cure { height: 11; }
    ProofScreen #said { height: 1fr; }
    """

    def __init__(self, proven: Proven) -> None:
        super().__init__()
        self.proven = proven

    @property
    def then(self) -> Then:
        """What Space does."""
        return then(self.proven.comparison.finding, self.proven.left)

    def title_words(self) -> str:
        """Of which job."""
        return f"{shortened(self.proven.title)}: did it work?   run-out before and after, seen from BEHIND"

    def keys(self) -> list[Key]:
        """On, and the other ways."""
        if not self.proven.again:
            return [("Space", self.proven.leave), ("Q", self.proven.leave)]
        on = "report" if self.then == "on" and self.proven.report else _THEN[self.then]
        others = [("P", "choose others")] if self.then == "again" and not doubted(self.proven.left) else []
        if self.then != "again":
            others.append(("S", "sweep again"))
        return [("Space", on), *others, ("Q", self.proven.leave)]

    def body(self) -> ComposeResult:
        """Verdict; picture, cure and words."""
        proven, unit, glyphs = self.proven, self.unit, self.app.glyphs
        left, comparison = proven.left, proven.comparison
        said = answer(left, unit, sureness(left.decision))
        both = before_and_after(proven.found, left, unit)
        yield Verdict(glyphs, replace(said, number=both), id="verdict")
        with Horizontal(id="below"):
            yield self.picture(draw_proof, proven.places)
            with Vertical(id="side"):
                style = _STYLE[left.decision.state]
                yield BigWords(glyphs, cure(comparison.finding, left), style=style, id="cure")
                lines = [*proof_lines(comparison, left, unit), *loud(left, proven.doubts, unit)]
                lines += shift_lines(comparison, unit)
                yield more(Lines("\n".join(lines), id="text"), id="said")

    def go_on(self) -> None:
        """What comes next."""
        self.dismiss("report" if self.then == "on" and self.proven.report else self.then)

    def action_answer(self, wanted: Answer) -> None:
        """Another way."""
        if self.proven.report if wanted == "report" else self.proven.again:
            self.dismiss(wanted)
