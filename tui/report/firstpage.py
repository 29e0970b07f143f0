"""The pictures on a report's first page: the housing against the crank, run-outs as bars, dowels as set.

Every clock is seen from behind. What is told by colour is told by a word or a shape as well.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from coaxly.fitter import Result
from coaxly.fitter.geometry import clock
from coaxly.fitter.numeric.quantiles import plane_factor
from coaxly.fitter.units import from_mm, to_mm

from ..draw.clockface import off
from ..draw.svg import AMBER, BLUE, FAINT, GREEN, INK, PAPER, RED, SOFT, Axis, Point, Sheet
from ..entry.lengths import half_width, number, show_length, written
from ..job.folder.journal import Fitted

STATE_COLOUR: Final = {"inside": GREEN, "outside": RED, "unsure": AMBER, "withheld": AMBER}
_GROUND: Final = "#eaf1f7"
_ROOM: Final = 1.12
_SMALLEST_MM: Final = 1e-4


@dataclass(frozen=True, slots=True)
class Bar:
    """A run-out: what it is of, mm, its 95 % half-width, and how it is judged."""

    label: str
    value: float
    spread: float
    state: str


def state_mark(state: str) -> str:
    """The state as a shape: a point inside a ring, outside of it, or on it."""
    sheet = Sheet(40, 40, state)
    colour = STATE_COLOUR[state]
    sheet.circle((18, 22), 14, stroke=PAPER, stroke_width=3)
    at = {"inside": (18, 22), "outside": (35, 5), "unsure": (27.9, 12.1), "withheld": (27.9, 12.1)}[state]
    sheet.circle(at, 5, fill=PAPER, stroke=colour, stroke_width=1.5)
    return sheet.markup()


def reach(results: Sequence[Result]) -> float:
    """How far a clock must reach, mm, so that all of them fit on one scale."""
    told = [result.eccentricity for result in results if not result.decision.withheld]
    far = [0.0, *(ecc.amount + ecc.u95_amount for ecc in told)]
    return max(_ROOM * max(far), 0.6 * max(result.decision.limit for result in results), _SMALLEST_MM)


def housing_clock(result: Result, far: float, unit: str) -> str:
    """Where the centre of the bore stands from the crank's axis, the circle within which it must lie, and the
    95 % region. Of a face: how far and towards where it is high. Of what was hardly measured: the circle
    alone. far: mm, at the rim."""
    ecc = result.eccentricity
    told = not result.decision.withheld
    whither = f"towards {towards(result)}" if ecc.has_direction or not ecc.detected else "whichever way"
    stands = f"{show_length(ecc.amount, unit)} {whither}" if told else "not known where"
    sheet = Sheet(300, 300, f"seen from behind: {stands}")
    middle, rim = (150.0, 150.0), 122.0
    scale = rim / far

    def at(x: float, y: float) -> Point:
        return middle[0] + scale * x, middle[1] - scale * y

    sheet.circle(middle, rim, stroke=SOFT, fill=PAPER)
    sheet.circle(
        middle, scale * result.decision.limit / 2.0, fill=_GROUND, stroke=BLUE, stroke_dasharray="5 3"
    )
    _rings(sheet, middle, scale, far, unit)
    _hours(sheet, middle, rim)
    sheet.cross(middle, 8, stroke=SOFT)
    if not told:
        return sheet.markup()
    colour = STATE_COLOUR[result.decision.state]
    sheet.path(
        [at(*point) for point in _region(result)],
        closed=True, fill=colour, fill_opacity=0.16, stroke=colour, stroke_opacity=0.5,
    )  # fmt: skip
    here = at(*ecc.vector)
    if ecc.has_direction:
        sheet.arrow(middle, here, colour, 2.5)
    sheet.circle(here, 4.0, fill=colour, stroke=PAPER, stroke_width=1.2)
    return sheet.markup()


def run_out_bars(bars: Sequence[Bar], limit: float, unit: str) -> str:
    """Run-outs and their uncertainty to one scale, with the limit."""
    height, first = (34.0 if len(bars) <= 2 else 27.0), 26.0
    sheet = Sheet(640, first + height * len(bars) + 24, "run-outs and the limit, to one scale")
    most = max(1.25 * limit, *(bar.value + bar.spread for bar in bars))
    axis = Axis(0.0, 1.04 * most, 110.0, 520.0)
    foot = first + height * len(bars)
    for mark in Axis(0.0, from_mm(axis.high, unit), 0.0, 1.0).marks(7):
        x = axis.at(to_mm(mark, unit))
        sheet.line((x, first - 4), (x, foot), stroke=FAINT)
        sheet.text((x, foot + 15), written(mark, "g"), 11, fill=SOFT, text_anchor="middle")
    sheet.text((528, foot + 15), unit, 11, fill=SOFT)
    for k, bar in enumerate(bars):
        top = first + height * k + (height - 22.0) / 2.0
        colour = STATE_COLOUR[bar.state]
        end = axis.at(bar.value)
        sheet.text((102, top + 16), bar.label, 13, text_anchor="end")
        sheet.add("rect", x=axis.start, y=top, width=max(end - axis.start, 0.8), height=22, fill=colour,
                  fill_opacity=0.85)  # fmt: skip
        ends = [axis.at(max(bar.value - bar.spread, 0.0)), axis.at(bar.value + bar.spread)]
        for x in ends:
            sheet.line((x, top + 5), (x, top + 17), stroke=INK, stroke_width=1.6)
        sheet.line((ends[0], top + 11), (ends[1], top + 11), stroke=INK, stroke_width=1.6)
        shown = f"{number(bar.value, unit)} ± {half_width(bar.spread, unit)}"
        sheet.text((636, top + 16), shown, 14, font_weight="bold", text_anchor="end")
    x = axis.at(limit)
    sheet.line((x, first - 8), (x, foot + 2), stroke=BLUE, stroke_width=2, stroke_dasharray="6 3")
    sheet.text((x, 13), f"limit {show_length(limit, unit)}", 12, fill=BLUE, text_anchor="middle")
    return sheet.markup()


def dowels_as_fitted(fitted: Fitted, names: Sequence[str], unit: str) -> str:
    """Both dowels as one sees them from behind: nose, slot and high side true in direction, not to scale."""
    sheet = Sheet(320, 164, "the dowels as fitted, seen from behind")
    pairs = list(
        zip(fitted.dowels, fitted.marks or tuple(deg for _, deg in fitted.dowels), names, strict=False)
    )
    for k, ((offset, deg), mark, name) in enumerate(pairs):
        centre, body = (80.0 + 160.0 * k, 66.0), 44.0
        sheet.circle(centre, body, fill="#eef0f3", stroke=INK, stroke_width=1.4)
        nose = off(centre, deg, 9.0)
        sheet.circle(nose, 23.0, fill="#aab4c0", stroke=INK, stroke_width=1.2)
        sheet.line(off(nose, mark, 23.0), off(nose, mark, -23.0), stroke=PAPER, stroke_width=4.0)
        sheet.arrow(off(centre, deg, body + 2.0), off(centre, deg, body + 30.0), RED, 3.4)
        sheet.hours(centre, body + 10.0, 11.0, fill=SOFT)
        words = f"{name}: {show_length(offset, unit)} to {clock(deg)}"
        sheet.text((centre[0], 145), words, 13, text_anchor="middle")
    sheet.text((160, 161), "arrow: high side; white line: slot", 11, fill=SOFT, text_anchor="middle")
    return sheet.markup()


def _rings(sheet: Sheet, middle: Point, scale: float, far: float, unit: str) -> None:
    """Round distances, with their numbers to the right of 12 o'clock."""
    for mark in Axis(0.0, from_mm(far, unit), 0.0, 1.0).marks(5)[1:]:
        radius = scale * to_mm(mark, unit)
        sheet.circle(middle, radius, stroke=FAINT, stroke_width=0.8)
        x, y = off(middle, 22.0, radius)
        sheet.text((x, y + 4.0), written(mark, "g"), 12, fill=SOFT, text_anchor="middle")


def _hours(sheet: Sheet, middle: Point, rim: float) -> None:
    for k in range(12):
        start = rim - (8.0 if k % 3 == 0 else 4.0)
        sheet.line(off(middle, 30.0 * k, start), off(middle, 30.0 * k, rim), stroke=SOFT)
    sheet.hours(middle, rim + 13.0)


def _region(result: Result) -> list[Point]:
    """The 95 % region of the vector, mm."""
    ecc = result.eccentricity
    variances, axes = np.linalg.eigh(np.array(ecc.covariance))
    half = plane_factor(0.95, math.inf if ecc.freedom is None else ecc.freedom) * np.sqrt(
        np.maximum(variances, 0.0)
    )
    turn = np.linspace(0.0, 2.0 * math.pi, 61)[:-1]
    points = np.array(ecc.vector) + np.column_stack([np.cos(turn), np.sin(turn)]) * half @ axes.T
    return [(float(x), float(y)) for x, y in points]


def towards(result: Result) -> str:
    """Clock position of the centre of a bore, of the high side of a face."""
    ecc = result.eccentricity
    return ecc.high_clock if result.feature == "face" else clock(math.degrees(math.atan2(*ecc.vector)))
