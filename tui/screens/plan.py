"""Dowels to choose from, side by side, and a picture of how the chosen ones are set."""

import time
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import Screen

from fitter.dowels.pins import Pins
from fitter.dowels.plan import Option
from fitter.result import Remark

from ..say.findings import option_card
from ..say.guide import guide_lines
from ..say.warnings import sentence
from ..widgets.guideplot import GuidePlot
from ..widgets.lines import Lines


class PlanScreen(Screen[Option | None]):
    """Dismissed with the option to be fitted, or None to leave."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space,enter,pagedown", "fit", "Fit", priority=True),
        Binding("right,down", "choose(1)", "Next"),
        Binding("left,up", "choose(-1)", "Before"),
        Binding("m", "app.next_unit", "Unit"),
        Binding("q", "leave", "Quit"),
    ]
    DEFAULT_CSS = """
    PlanScreen { layout: vertical; background: $background; color: $foreground; }
    PlanScreen #title { height: 1; background: $panel; padding: 0 1; text-style: bold; }
    PlanScreen #cards { height: 8; }
    PlanScreen .card { width: 1fr; height: 8; padding: 0 1; border: round $foreground 55%; }
    PlanScreen .chosen { border: heavy $primary; text-style: bold; }
    PlanScreen #below { height: 1fr; }
    PlanScreen #picture { width: 1fr; height: 100%; }
    PlanScreen #words { width: 42; padding: 0 1; }
    PlanScreen #keys { height: 1; background: $panel; padding: 0 1; }
    """
    _SHOWN = 3

    def __init__(
        self,
        options: list[Option],
        pins: Pins | None,
        advice: list[Remark],
        *,
        go_on_after: float | None = None,
    ) -> None:
        """`options`: best first. go_on_after: seconds after which the best is taken (for the demo)."""
        super().__init__()
        self.options = options[: self._SHOWN]
        self._pins, self._advice = pins, advice
        self._at = 0
        self._go_on_after = go_on_after
        self._opened = time.monotonic()

    def compose(self) -> ComposeResult:
        """Cards above, picture and words below."""
        yield Lines("Dowels to choose from, best first", id="title")
        with Horizontal(id="cards"):
            for k in range(len(self.options)):
                yield Lines(id=f"card{k}", classes="card")
        with Horizontal(id="below"):
            yield GuidePlot(self.app.glyphs, id="picture")  # type: ignore[attr-defined]
            with Vertical(id="words"), VerticalScroll():
                yield Lines(id="guide")
        yield Lines(id="keys")

    def on_mount(self) -> None:
        """Show the best first, and keep the countdown going."""
        self.redraw()
        self.set_interval(0.25, self.redraw)

    def redraw(self) -> None:
        """Words and picture of what is chosen."""
        if not all(self.query(name) for name in ("#guide", "#picture", f"#card{len(self.options) - 1}")):
            return  # containers build their children a little after the screen itself
        unit = self.app.unit  # type: ignore[attr-defined]
        for k, option in enumerate(self.options):
            card = self.query_one(f"#card{k}", Lines)
            mark = ">" if k == self._at else " "
            card.show("\n".join([f"{mark} {k + 1}.", *option_card(option, unit)]))
            card.set_class(k == self._at, "chosen")
        chosen = self.options[self._at]
        self.query_one(GuidePlot).show(chosen, self._pins)
        words = [
            *guide_lines(chosen, self._pins, unit),
            *(f"! {sentence(remark, unit)}" for remark in self._advice),
        ]
        self.query_one("#guide", Lines).show("\n".join(words))
        what = "fit these" if chosen.dowels else "leave it"
        left = ""
        if self._go_on_after is not None:
            remaining = self._go_on_after - (time.monotonic() - self._opened)
            left = f"   (by itself in {max(remaining, 0.0):.0f} s)"
            if remaining <= 0.0 and self.is_current:
                self.action_fit()
        self.query_one("#keys", Lines).show(f"Space {what}{left}   Left/Right choose   M unit   Q quit")

    def action_choose(self, way: int) -> None:
        """Another card; the countdown stops, since somebody is choosing."""
        self._at = (self._at + way) % len(self.options)
        self._go_on_after = None
        self.redraw()

    def action_fit(self) -> None:
        """Take the chosen one."""
        self.dismiss(self.options[self._at])

    def action_leave(self) -> None:
        """Leave without."""
        self.dismiss(None)
