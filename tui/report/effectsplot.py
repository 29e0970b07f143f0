"""How far families are off the average, and how much single pieces scatter, for paper: a row each, with its
95 % interval."""

import math
from dataclasses import dataclass
from typing import Final

from coaxly.fitter.geometry import clock, direction
from coaxly.fitter.shop.ledger import Ledger
from coaxly.fitter.units import from_mm

from ..draw.svg import BLUE, FAINT, INK, PAPER, SOFT, Axis, Sheet
from .ledgerplots import short

_ROWS: Final = 30
_LEFT: Final = 220.0
_RIGHT: Final = 520.0
_TOP: Final = 34.0
_STEP: Final = 26.0
_APART: Final = 14.0


@dataclass(frozen=True, slots=True)
class _Row:
    """Lengths in mm. colour: "" for what may be nothing."""

    name: str
    size: float
    low: float
    high: float
    beside: str
    colour: str


def effects_plot(ledger: Ledger, unit: str) -> Sheet:
    """Families above, single pieces and measuring below."""
    families, scatter = _families(ledger), _scatter(ledger)
    bottom = _TOP + _STEP * (len(families) + len(scatter)) + _APART
    sheet = Sheet(670.0, bottom + 42.0, "how far families are off the average, and scatter of single pieces")
    axis = Axis(0.0, from_mm(max(row.high for row in (*families, *scatter)), unit) * 1.04, _LEFT, _RIGHT)
    for value in axis.marks():
        x = axis.at(value)
        sheet.line((x, _TOP - 14.0), (x, bottom - 8.0), stroke=INK if value == 0.0 else FAINT)
        sheet.text((x, bottom + 8.0), f"{value:g}", 11.0, text_anchor="middle", fill=SOFT)
    words = f"{unit} off the average, and scatter, with 95 % intervals"
    sheet.text(((_LEFT + _RIGHT) / 2.0, bottom + 26.0), words, 11.0, text_anchor="middle", fill=SOFT)
    for k, row in enumerate((*families, *scatter)):
        _drawn(sheet, axis, _TOP + _STEP * k + (_APART if k >= len(families) else 0.0), row, unit)
    return sheet


def _families(ledger: Ledger) -> list[_Row]:
    """Of very many families, those that lie farthest beyond their interval."""
    far = {
        (each.side, each.name): math.hypot(*each.effect) / max(each.u95, 1e-12)
        for each in ledger.families
        if each.effect is not None and each.u95 is not None
    }
    shown = set(sorted(far, key=lambda key: -far[key])[:_ROWS])
    rows = []
    for family in ledger.families:
        if (family.side, family.name) not in shown or family.effect is None or family.u95 is None:
            continue
        size = math.hypot(*family.effect)
        beside = f"towards {clock(direction(*family.effect))}" if family.told else "may be nothing"
        name = f"{family.side}s {short(family.name)}"
        low, high = max(size - family.u95, 0.0), size + family.u95
        rows.append(_Row(name, size, low, high, beside, BLUE if family.told else ""))
    return rows


def _scatter(ledger: Ledger) -> list[_Row]:
    rows = []
    for each in ledger.components:
        name = f"single {each.name}" if each.name in ("blocks", "housings") else "each engine"
        rows.append(_Row(name, each.sd, each.low, each.high, "scatter", INK))
    u = ledger.measuring
    return [*rows, _Row("measuring", u, u, u, "scatter", INK)]


def _drawn(sheet: Sheet, axis: Axis, y: float, row: _Row, unit: str) -> None:
    low, size, high = (axis.at(from_mm(value, unit)) for value in (row.low, row.size, row.high))
    colour = row.colour or SOFT
    sheet.text((_LEFT - 12.0, y + 4.0), row.name, 13.0, text_anchor="end")
    sheet.line((low, y), (high, y), stroke=colour, stroke_width=2.5)
    sheet.circle((size, y), 4.5, stroke=colour, stroke_width=2.0, fill=row.colour or PAPER)
    sheet.text((_RIGHT + 12.0, y + 4.0), row.beside, 12.0, fill=SOFT)
