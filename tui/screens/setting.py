"""How the chosen dowels are set. It stays on the screen until they are in, whatever a pedal presses."""

from typing import ClassVar, Literal

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.screen import Screen

from fitter.dowels.pins import Pins
from fitter.dowels.plan import Option

from ..say.findings import dowels
from ..say.guide import guide_lines, large_line
from ..widgets.bigwords import BigWords
from ..widgets.guideplot import GuidePlot
from ..widgets.lines import Lines

Answer = Literal["in", "again", "back"]


class SettingScreen(Screen[Answer]):
    """Dismissed with "in" (they are in and locked), "again" (choose again) or "back"."""

    AUTO_FOCUS = None
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("l", "answer('in')", "They are in"),
        Binding("c", "answer('again')", "Choose again"),
        Binding("q,escape", "answer('back')", "Back"),
        Binding("m", "app.next_unit", "Unit"),
        Binding("down", "roll(1)", "Down"),
        Binding("up", "roll(-1)", "Up"),
    ]
    DEFAULT_CSS = """
    SettingScreen { layout: vertical; background: $background; color: $foreground; }
    SettingScreen #title { height: 1; background: $panel; padding: 0 1; text-style: bold; }
    SettingScreen #below { height: 1fr; }
    SettingScreen #picture { width: 1fr; height: 100%; }
    SettingScreen VerticalScroll { width: 46; padding: 1 1; }
    SettingScreen #keys { height: auto; background: $panel; padding: 0 1; }
    """

    def __init__(self, job: str, option: Option, pins: Pins | None) -> None:
        """The dowels that were chosen, and where their holes are (None: not known)."""
        super().__init__()
        self._job, self._option, self._pins = job, option, pins

    def compose(self) -> ComposeResult:
        """What is fitted, the picture, and the steps."""
        yield Lines(id="title")
        yield BigWords(self.app.glyphs, id="large")  # type: ignore[attr-defined]
        with Horizontal(id="below"):
            yield GuidePlot(self.app.glyphs, id="picture")  # type: ignore[attr-defined]
            with VerticalScroll(id="steps"):
                yield Lines(id="guide")
        yield Lines("This page stays.   L they are in and locked   C choose again   Q back", id="keys")

    def on_mount(self) -> None:
        """Draw, and again when the unit changes."""
        self.redraw()
        self.set_interval(0.25, self.redraw)

    def redraw(self) -> None:
        """Words and picture."""
        if not all(self.query(name) for name in ("#guide", "#picture")):
            return  # containers build their children a little after the screen itself
        unit = self.app.unit  # type: ignore[attr-defined]
        what = f"{self._job}: set the dowels, {dowels(self._option, unit)}, seen from BEHIND"
        self.query_one("#title", Lines).show(what)
        self.query_one("#guide", Lines).show("\n".join(guide_lines(self._option, self._pins, unit)))
        self.query_one(BigWords).show(large_line(self._option, self._pins, unit))
        self.query_one(GuidePlot).show(self._option, self._pins)

    def action_answer(self, answer: Answer) -> None:
        """On, again or back."""
        self.dismiss(answer)

    def action_roll(self, way: int) -> None:
        """The steps, where they are longer than the screen."""
        self.query_one("#steps", VerticalScroll).scroll_relative(y=way, animate=False)
