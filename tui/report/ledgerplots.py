"""A ledger's found vectors on the clock, for paper. Dark ink on white; shapes tell what colours tell."""

import math
from collections.abc import Sequence
from typing import Final

from coaxly.fitter.shop.ledger import Family, Found, Ledger, Side, family_mean
from coaxly.fitter.units import from_mm

from ..draw.svg import AMBER, BLUE, FAINT, GREEN, RED, SOFT, Axis, Point, Sheet, Value
from ..say.smallwords import counted

COLOURS: Final = (BLUE, RED, GREEN, AMBER, SOFT)
"""Of families, in their order; shapes go round with them, so that no two of fifteen are alike."""

MARKED: Final = 9
"""Families that get a mark; more could not be told apart."""

_SHAPES: Final = 3
_DOTS: Final = 3000
_ROUND: Final = 178.0
_BESIDE: Final = 236.0


def clock_plot(found: Sequence[Found], ledger: Ledger, side: Side, unit: str) -> Sheet:
    """Every job's bore as found, seen from behind, marked by its family of one side; the cross is a family's
    average, the closed line its 95 % region."""
    families = marked(ledger, side)
    size = 2.0 * _ROUND + 60.0
    label = f"where the bores sit, by family of {side}s, on a clock seen from behind"
    sheet = Sheet(size + _BESIDE, size + 8.0, label)
    centre = size / 2.0, size / 2.0
    reach = max((math.hypot(*job.vector) for job in found), default=1.0) or 1.0
    scale = _dial(sheet, centre, from_mm(reach, unit), unit)

    def place(vector: Sequence[float]) -> Point:
        return centre[0] + scale * from_mm(vector[0], unit), centre[1] - scale * from_mm(vector[1], unit)

    numbers = {family.name: k for k, family in enumerate(families)}
    drawn = found[:: math.ceil(len(found) / _DOTS)] if found else found
    for job in drawn:
        mark(sheet, place(job.vector), numbers.get(getattr(job, f"{side}_family")))
    for k, family in enumerate(families):
        average, colour = family_mean(found, ledger, family), COLOURS[k % len(COLOURS)]
        border = [place(point) for point in average.border().tolist()]
        sheet.path(border, closed=True, stroke=colour, stroke_width=2.0)
        sheet.cross(place(average.vector), 5.0, stroke=colour, stroke_width=2.5)
    rows = [f"{short(each.name)}, {counted(each.jobs, 'job')}" for each in families]
    thinned = [f"{len(drawn)} of {len(found)} jobs are drawn"] * (len(drawn) < len(found))
    _legend(sheet, size, list(enumerate(rows)), thinned)
    return sheet


def marked(ledger: Ledger, side: Side) -> list[Family]:
    """Families with a mark of their own: those with the most jobs."""
    return sorted((each for each in ledger.families if each.side == side), key=lambda each: -each.jobs)[
        :MARKED
    ]


def _legend(sheet: Sheet, left: float, rows: Sequence[tuple[int, str]], more: Sequence[str]) -> None:
    down = 40.0
    for k, words in rows:
        mark(sheet, (left + 8.0, down - 4.0), k)
        sheet.text((left + 20.0, down), words, 13.0)
        down += 22.0
    down += 12.0
    for words in ("+  average of a family", "closed line: its 95 % region", *more):
        sheet.text((left, down), words, 12.0, fill=SOFT)
        down += 17.0


def _dial(sheet: Sheet, centre: Point, reach: float, unit: str) -> float:
    """Rings, hours and the scale; returns sheet units for one of `unit`."""
    rings = [each for each in Axis(0.0, reach * 1.05, 0.0, 1.0).marks(5) if each > 0.0]
    step = rings[0]
    rings = [step * (k + 1) for k in range(math.ceil(reach / step))]
    scale = _ROUND / rings[-1]
    for ring in rings:
        sheet.circle(centre, scale * ring, stroke=FAINT)
    sheet.cross(centre, _ROUND, stroke=FAINT)
    sheet.hours(centre, _ROUND + 14.0, 15.0)
    for ring in rings:
        at = centre[0] + 3.0, centre[1] - scale * ring + 12.0
        sheet.text(at, f"{ring:g}" + (f" {unit}" if ring == rings[-1] else ""), 10.0, fill=SOFT)
    return scale


def mark(sheet: Sheet, at: Point, k: int | None) -> None:
    """A family's mark: its colour and one of three shapes; a small dot for one without a mark."""
    if k is None:
        sheet.circle(at, 1.5, stroke="none", fill=SOFT)
        return
    (x, y), colour = at, COLOURS[k % len(COLOURS)]
    look: dict[str, Value] = {"stroke": colour, "stroke_width": 1.3, "fill": colour, "fill_opacity": "0.35"}
    shape = k % _SHAPES
    if shape == 0:
        sheet.circle(at, 3.4, **look)
    elif shape == 1:
        sheet.path([(x, y - 4.4), (x + 4.2, y + 3.4), (x - 4.2, y + 3.4)], closed=True, **look)
    else:
        sheet.path(
            [(x - 3.2, y - 3.2), (x + 3.2, y - 3.2), (x + 3.2, y + 3.2), (x - 3.2, y + 3.2)],
            closed=True,
            **look,
        )


def short(name: str, most: int = 18) -> str:
    """A family's name, cut where it would run into something."""
    name = name or "not stated"
    return name if len(name) <= most else f"{name[: most - 1]}\u2026"
