"""Is it square? The verdict and where the face is high; a shim for each bolt; what that does to the bore."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical

from coaxly.fitter import Result
from coaxly.fitter.face import Squareness

from ...draw.boltpicture import Bolt, draw_bolts
from ...draw.raster import Raster
from ...entry.lengths import number, says
from ...say.cautions import SHORT
from ...say.sweep.answer import answer
from ...say.sweep.facing import (
    BESIDES,
    before_shimming,
    goes_in,
    high,
    shim_lines,
    tilt_line,
)
from ...say.sweep.findings import is_stocked, sureness
from ...say.sweep.finished import spoils
from ...terminal import Dots
from ...widgets.bigwords import BigWords
from ...widgets.lines import Lines
from ...widgets.picture import picture
from ...widgets.verdict import Verdict
from ..base import more
from ..sheet import Key, Sheet

Answer = Literal["in", "others", "none", "again", "leave"]


@dataclass(frozen=True)
class Face:
    """A face that was swept, and the shims that it asks for. besides: others are under
    it already; leave: where Q leads."""

    title: str
    result: Result
    found: Squareness
    besides: bool = False
    leave: str = "leave"


class FaceScreen(Sheet[Answer]):
    """Dismissed with "in" (the shims drawn here are in), "others" (other ones are), "none" (none go in),
    "again" (sweep it again) or "leave"."""

    TOPIC = "face"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("l", "answer('in')", "They are in"),
        Binding("o", "answer('others')", "Others are in"),
        Binding("n", "answer('none')", "None go in"),
        Binding("s", "answer('again')", "Sweep again"),
    ]
    DEFAULT_CSS = """
    FaceScreen #side { width: 54%; }
    FaceScreen #high { height: 4; }
    FaceScreen.tall #high { height: 8; }
    FaceScreen.huge #high { height: 11; }
    FaceScreen #said { height: 1fr; }
    """

    def __init__(self, face: Face) -> None:
        super().__init__()
        self.face = face

    @property
    def asks(self) -> bool:
        """Whether shims are asked for."""
        return self.face.result.decision.state != "inside" and self.face.result.eccentricity.detected

    def title_words(self) -> str:
        """Of which job."""
        return f"{self.face.title}: is the face square?   seen from BEHIND"

    def keys(self) -> list[Key]:
        """Not one of them is the pedal's while shims are asked for."""
        if not self.asks:
            return [
                ("Space", "no shims, go on"),
                ("O", "others are in"),
                ("S", "sweep again"),
                ("Q", self.face.leave),
            ]
        own = [("L", "shims are in")] if is_stocked(self.face.found) else []
        none = [] if self.face.besides else [("N", "none")]
        others = "others are in" if own else "say which are in"
        return [*own, ("O", others), *none, ("S", "sweep again"), ("Q", self.face.leave)]

    def body(self) -> ComposeResult:
        """Verdict; bolts, and beside them where it is high and what goes in."""
        face, unit, glyphs = self.face, self.unit, self.app.glyphs
        result, found = face.result, face.found
        yield Verdict(glyphs, answer(result, unit, sureness(result.decision)), id="verdict")
        with Horizontal(id="below"):
            yield picture(self.app, self._bolts, id="picture")
            with Vertical(id="side"):
                yield BigWords(glyphs, high(result, found), style="arrow", id="high")
                yield Lines(tilt_line(result, found, unit), id="tilt")
                lines = ["No shims are needed."]
                if self.asks:
                    lines = shim_lines(result, found, unit)
                    if face.besides:
                        lines.insert(0, BESIDES)
                    lines[:0] = before_shimming(result)
                    lines.append(f"! {SHORT['shims']}: C")
                yield more(Lines("\n".join([*lines, *spoils(result, unit)]), id="text"), id="said")

    def _bolts(self, width: int, height: int, glyphs: Dots) -> Raster:
        found, stocked, unit = self.face.found, is_stocked(self.face.found), self.unit
        bolts = []
        for shim in found.shims:
            under = number(goes_in(shim, stocked), unit) if self.asks else ""
            bolts.append(Bolt(shim.deg, under if says(under) else ""))
        towards = found.high_deg if self.face.result.eccentricity.detected else None
        return draw_bolts(bolts, towards, width, height, glyphs)

    def go_on(self) -> None:
        """The pedal goes on where nothing is asked for; elsewhere it says what does."""
        if not self.asks:
            self.dismiss("none")
            return
        hint = "The pedal does nothing here: L or O when shims are in, N if none go in."
        self.query_one("#keys", Lines).show(hint)

    def action_answer(self, wanted: Answer) -> None:
        """What was done."""
        if wanted == "in" and not (self.asks and is_stocked(self.face.found)):
            return
        # That nothing lies under it would be untrue where something does.
        if wanted == "none" and self.face.besides:
            return
        self.dismiss(wanted)

    def action_leave(self) -> None:
        """Leave it for now."""
        self.dismiss("leave")
