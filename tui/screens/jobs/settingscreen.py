"""How the chosen dowels are set. It stays on the screen until they are in, whatever a pedal presses."""

from typing import ClassVar, Literal

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal

from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Option

from ...draw.dowelpicture import draw_dowels
from ...say.dowels.guide import way_lines
from ...say.dowels.optiontable import after_lines, large_lines, sizes, under_line
from ...say.smallwords import shortened
from ...widgets.bigwords import BigWords
from ...widgets.textlines import Lines
from ..base import more
from ..sheet import Key, Sheet

Answer = Literal["in", "again", "back"]


class SettingScreen(Sheet[Answer]):
    """Dismissed with "in" (they are in and locked), "again" (choose again) or "back"."""

    TOPIC = "dowels"
    leaving = "back"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("l", "answer('in')", "They are in"),
        Binding("p", "answer('again')", "Choose others"),
    ]
    DEFAULT_CSS = """
    SettingScreen #large { height: 31%; min-height: 7; width: 100%; margin: 0 1; }
    SettingScreen #large.two { min-height: 8; }
    SettingScreen #under { height: auto; padding: 0 1; text-style: bold; }
    SettingScreen #steps { width: 60%; height: 100%; padding: 0 1; }
    SettingScreen.tall #steps { width: 42%; }
    """

    def __init__(self, job: str, option: Option, pins: Pins | None) -> None:
        """The dowels that were chosen, and where their holes are (None: not known)."""
        super().__init__()
        self._job, self._option, self._pins = job, option, pins

    def title_words(self) -> str:
        """Of which job, which dowels, whence they are seen."""
        return f"{shortened(self._job)}: set the dowels, {sizes(self._option, self.unit)}   seen from BEHIND"

    def keys(self) -> list[Key]:
        """Not one of them is the pedal's."""
        return [("L", "they are in and locked"), ("P", "choose others"), ("Q", "jobs")]

    def body(self) -> ComposeResult:
        """What is fitted, the picture, and the steps."""
        option, pins, unit, glyphs = self._option, self._pins, self.unit, self.app.glyphs
        large = BigWords(glyphs, large_lines(option, pins, unit), style="arrow", id="large")
        large.set_class(option.pair == "split", "two")
        yield large
        yield Lines(under_line(option, pins), id="under")
        with Horizontal(id="below"):
            yield self.picture(draw_dowels, option, pins)
            lines = [*way_lines(option), *after_lines(option)]
            yield more(Lines("\n".join(lines), id="guide"), id="steps")

    def go_on(self) -> None:
        """The pedal does nothing here, and says so."""
        self.tell("keys", "L when they are in and locked: the pedal does nothing here.")
