"""What happened over time, for paper: a strip for each family, along the direction that tells most."""

import math
from collections.abc import Sequence
from datetime import date
from typing import Final

from coaxly.fitter.geometry import clock, direction
from coaxly.fitter.shop.changes import Change
from coaxly.fitter.shop.ledger import Family, Found, Ledger, family_mean
from coaxly.fitter.units import from_mm

from ..draw.svg import FAINT, RED, SOFT, Axis, Sheet
from .ledgerplots import mark, marked, short

_STRIP: Final = 118.0
_LEFT: Final = 60.0
_RIGHT: Final = 630.0
_FEWEST: Final = 3
_MOST: Final = 8


def trend_plot(found: Sequence[Found], ledger: Ledger, changes: Sequence[Change], unit: str) -> Sheet | None:
    """Families with jobs on three days or more; None where there is none. Each job's place less its family's
    average, along the change of the family, else along how the family lies; changes are drawn in."""
    shown = _shown(found, ledger, changes)
    if not shown:
        return None
    days = [day for family in shown for day in _days(found, family)]
    across = Axis(min(days), max(days), _LEFT, _RIGHT)
    sheet = Sheet(660.0, _STRIP * len(shown) + 34.0, "found bores over time, by family")
    strips = [_Strip(found, ledger, family, _change_of(family, changes), unit) for family in shown]
    # One scale for all: what is small in one shall look small beside the others.
    reach = max(abs(value) for strip in strips for _, value in strip.points) * 1.08 or 1.0
    for k, strip in enumerate(strips):
        _strip(sheet, _STRIP * k, across, strip, reach)
    bottom = _STRIP * len(shown)
    for day in _month_starts(min(days), max(days)):
        x = across.at(day)
        sheet.line((x, bottom - 4.0), (x, bottom + 2.0), stroke=SOFT)
        sheet.text((x, bottom + 17.0), date.fromordinal(round(day)).strftime("%Y-%m"), 11.0,
                   text_anchor="middle", fill=SOFT)  # fmt: skip
    return sheet


class _Strip:
    """What one strip shows: days, and places along `towards` in the unit shown."""

    def __init__(
        self, found: Sequence[Found], ledger: Ledger, family: Family, change: Change | None, unit: str
    ) -> None:
        average = family_mean(found, ledger, family).vector
        lies = change.shift if change is not None else family.effect or average
        size = math.hypot(*lies) or 1.0
        self.ux, self.uy = lies[0] / size, lies[1] / size
        self.family, self.change, self.unit = family, change, unit
        names = [each.name for each in marked(ledger, family.side)]
        self.number = names.index(family.name) if family.name in names else None
        self.points = []
        for job in found:
            if job.day is not None and getattr(job, f"{family.side}_family") == family.name:
                x, y = job.vector[0] - average[0], job.vector[1] - average[1]
                self.points.append((job.day, from_mm(x * self.ux + y * self.uy, unit)))


def _strip(sheet: Sheet, top: float, across: Axis, strip: _Strip, reach: float) -> None:
    up = Axis(-reach, reach, top + _STRIP - 14.0, top + 28.0)
    for value in up.marks(5):
        sheet.line((_LEFT, up.at(value)), (_RIGHT, up.at(value)), stroke=SOFT if value == 0.0 else FAINT)
        sheet.text((_LEFT - 8.0, up.at(value) + 4.0), f"{value:g}", 10.0, text_anchor="end", fill=SOFT)
    towards = clock(direction(strip.ux, strip.uy))
    name = f"{strip.family.side}s {short(strip.family.name, 30)}"
    name = f"{name}: {strip.unit} towards {towards} of their average"
    sheet.text((_LEFT, top + 18.0), name, 12.5)
    for day, value in strip.points:
        mark(sheet, (across.at(day), up.at(value)), strip.number)
    if strip.change is not None:
        _changed(sheet, across, up, strip)


def _changed(sheet: Sheet, across: Axis, up: Axis, strip: _Strip) -> None:
    """The averages before and since, or the line of a drift."""
    change = strip.change
    assert change is not None
    first, last = min(day for day, _ in strip.points), max(day for day, _ in strip.points)
    if change.kind == "step" and change.day is not None:
        at = change.day
        parts = ([v for day, v in strip.points if day < at], [v for day, v in strip.points if day >= at])
        ends = ((first, at), (at, last))
        for values, (start, end) in zip(parts, ends, strict=True):
            level = up.at(sum(values) / max(len(values), 1))
            sheet.line((across.at(start), level), (across.at(end), level), stroke=RED, stroke_width=2.5)
        end = up.end - 6.0
        sheet.line((across.at(at), up.start), (across.at(at), end), stroke=RED, stroke_dasharray="4 3")
        words = f"since {date.fromordinal(round(at)).isoformat()}"
        # On the line of the name, behind it, where no mark of a job can lie over it.
        sheet.text((_RIGHT, end - 4.0), words, 12.5, fill=RED, text_anchor="end")
        return
    middle_day = sum(day for day, _ in strip.points) / len(strip.points)
    slope = from_mm(math.hypot(*change.shift), strip.unit) / max(last - first, 1.0)
    ends_ = [(across.at(day), up.at(slope * (day - middle_day))) for day in (first, last)]
    sheet.line(ends_[0], ends_[1], stroke=RED, stroke_width=2.5)


def _shown(found: Sequence[Found], ledger: Ledger, changes: Sequence[Change]) -> list[Family]:
    """Families that were met over time: those that changed first, then those with the most jobs."""
    shown = [family for family in ledger.families if len(set(_days(found, family))) >= _FEWEST]
    shown.sort(key=lambda each: (_change_of(each, changes) is None, each.side == "block", -each.jobs))
    return shown[:_MOST]


def _change_of(family: Family, changes: Sequence[Change]) -> Change | None:
    return next((c for c in changes if (c.side, c.family) == (family.side, family.name)), None)


def _days(found: Sequence[Found], family: Family) -> list[float]:
    key = f"{family.side}_family"
    return [job.day for job in found if job.day is not None and getattr(job, key) == family.name]


def _month_starts(first: float, last: float, most: int = 8) -> list[float]:
    """First days of months within, at most so many, evenly."""
    begin, end = date.fromordinal(round(first)), date.fromordinal(round(last))
    months = range(begin.year * 12 + begin.month, end.year * 12 + end.month)
    every = max(1, math.ceil(len(months) / most))
    return [float(date(m // 12, m % 12 + 1, 1).toordinal()) for m in months[::every]]
