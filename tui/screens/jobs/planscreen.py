"""Which pair? The chosen one is largest, the best at first; with what it promises, in its holes."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll

from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Option
from coaxly.fitter.result import Remark

from ...draw.dowelpicture import draw_dowels
from ...entry.lengths import show_length
from ...say.dowels import optiontable
from ...say.dowels.optiontable import Offer
from ...say.smallwords import shortened
from ...say.sweep.warnings import sentence
from ...widgets.bigwords import BigWords
from ...widgets.picklist import OptionList
from ...widgets.textlines import Lines
from ..base import more
from ..sheet import Key, Sheet

_MOST = 9
"""As many as there are number keys."""


class PlanScreen(Sheet[Option | None]):
    """Dismissed with the option to be fitted, or None to leave."""

    TOPIC = "dowels"
    BINDINGS: ClassVar[list[BindingType]] = [
        *[Binding(str(k), f"choose({k})", f"Option {k}") for k in range(1, _MOST + 1)],
        Binding("right,down,tab", "next(1)", "Next"),
        Binding("left,up,shift+tab", "next(-1)", "Before"),
    ]
    ROLLS: ClassVar[str] = "End"
    DEFAULT_CSS = """
    PlanScreen #large { height: 18%; min-height: 4; width: 100%; margin: 0 1; }
    PlanScreen #words { width: 47%; height: 100%; padding: 0 1; }
    PlanScreen #upper { height: 11; }
    PlanScreen #upper #table { width: 78; }
    PlanScreen #upper #words { width: 1fr; }
    PlanScreen.wide #picture { height: 1fr; }
    """

    def __init__(
        self,
        options: list[Option],
        pins: Pins | None,
        advice: list[Remark],
        *,
        offer: Offer | None = None,
        go_on_after: float | None = None,
    ) -> None:
        """`options`: best first; pins: the holes, None where nobody said; advice: what dowels cannot do.
        go_on_after: seconds after which the best is taken (for the demo)."""
        super().__init__(go_on_after=go_on_after)
        self.options = options[:_MOST]
        self._pins, self._advice, self._offer = pins, advice, offer or Offer()
        self._at = 0

    @property
    def chosen(self) -> Option:
        """The option that is shown large."""
        return self.options[self._at]

    def title_words(self) -> str:
        """Of which job, and how far it is off."""
        offer, unit = self._offer, self.unit
        parts = [f"{shortened(offer.title)}: which dowels?" if offer.title else "Which dowels?"]
        if offer.tir is not None and offer.limit is not None:
            parts.append(f"found {show_length(offer.tir, unit)}, limit {show_length(offer.limit, unit)}")
        return "   ".join([*parts, "seen from BEHIND"])

    def keys(self) -> list[Key]:
        """Choose, take, leave."""
        take = "fit these" if self.chosen.dowels else "leave it as it is"
        left = f" ({self.countdown.words})" if self.countdown.words else ""
        return [(f"1-{len(self.options)}", "choose"), ("Space", take + left), ("Q", "back")]

    def body(self) -> ComposeResult:
        """The chosen pair, the table, the picture and what there is to say."""
        unit, chosen, glyphs = self.unit, self.chosen, self.app.glyphs
        yield BigWords(glyphs, optiontable.large(chosen, self._pins, unit), style="arrow", id="large")
        if self.room.wide:
            with Horizontal(id="upper"):
                yield self._table()
                yield self._said()
            yield self.picture(draw_dowels, chosen, self._pins)
        else:
            yield self._table()
            with Horizontal(id="below"):
                yield self.picture(draw_dowels, chosen, self._pins)
                yield self._said()

    def _table(self) -> OptionList:
        unit = self.unit
        wide, kit = optiontable.label_width(self.options, unit), self._offer.kit
        rows = [optiontable.row(k, each, unit, kit, wide) for k, each in enumerate(self.options, 1)]
        table = OptionList(optiontable.head(unit, wide), rows, self._at, id="table")
        table.styles.height = 2 + min(len(rows), _MOST if self.room.tall else 6)
        return table

    def _said(self) -> VerticalScroll:
        words = [f"! {sentence(remark, self.unit)}" for remark in self._advice]
        words += optiontable.said(self.chosen, self._offer, self._pins, self.unit)
        return more(Lines("\n".join([*words, *optiontable.rule(self.options)]), id="guide"), id="words")

    def tell_time(self) -> None:
        """It stands with the keys."""
        self.tell("keys", self.key_words())

    def action_choose(self, number: int) -> None:
        """That one; the countdown stops, since somebody is choosing."""
        if number <= len(self.options):
            self._at = number - 1
            self.countdown.stop()
            self.redraw()

    def action_next(self, way: int) -> None:
        """The next one, or the one before."""
        self.action_choose((self._at + way) % len(self.options) + 1)

    def go_on(self) -> None:
        """Take the chosen one."""
        self.dismiss(self.chosen)
