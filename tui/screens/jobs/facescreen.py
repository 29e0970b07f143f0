"""Is it square? The verdict and where the face is high; a shim for each bolt; what that does to the bore."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical

from coaxly.fitter import Result
from coaxly.fitter.face import Shim, Squareness

from ...draw.boltpicture import Bolt, draw_bolts
from ...entry.lengths import number, says
from ...say.cautions import SHORT
from ...say.smallwords import shortened
from ...say.sweep.facing import BESIDES, before_shimming, goes_in, high, shim_lines, tilt_line
from ...say.sweep.findings import is_stocked, sureness
from ...say.sweep.finished import answer, spoils
from ...widgets.bigwords import BigWords
from ...widgets.textlines import Lines
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
    leaving = "leave"
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
        return self.face.result.decision.state != "inside" and self.face.result.eccentricity.has_direction

    def title_words(self) -> str:
        """Of which job."""
        return f"{shortened(self.face.title)}: is the face square?   seen from BEHIND"

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
        high_deg = found.high_deg if result.eccentricity.has_direction else None
        bolts = [Bolt(shim.deg, self._under(shim)) for shim in found.shims]
        yield Verdict(glyphs, answer(result, unit, sureness(result.decision)), id="verdict")
        with Horizontal(id="below"):
            yield self.picture(draw_bolts, bolts, high_deg)
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

    def _under(self, shim: Shim) -> str:
        """What goes under a bolt, as it is written; "" for nothing."""
        size = number(goes_in(shim, is_stocked(self.face.found)), self.unit)
        return size if self.asks and says(size) else ""

    def go_on(self) -> None:
        """The pedal goes on where nothing is asked for; elsewhere it says what does."""
        if not self.asks:
            self.dismiss("none")
            return
        hint = "The pedal does nothing here: L or O when shims are in, N if none go in."
        self.tell("keys", hint)

    def action_answer(self, wanted: Answer) -> None:
        """What was done."""
        if wanted == "in" and not (self.asks and is_stocked(self.face.found)):
            return
        # That nothing lies under it would be untrue where something does.
        if wanted == "none" and self.face.besides:
            return
        self.dismiss(wanted)
