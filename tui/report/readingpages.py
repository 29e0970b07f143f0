"""The readings of one sweep on paper: round the turn as a plot, and as the rows of a table."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from coaxly.fitter.analysis import circle
from coaxly.fitter.geometry import clock
from coaxly.fitter.numeric.basis import Floats
from coaxly.fitter.units import from_mm, to_mm

from ..draw.svg import BLUE, FAINT, INK, RED, SOFT, Axis, Sheet
from ..entry.lengths import number, says, written
from ..say.sweep.findings import of_two_numbers
from .facts import Swept

MOST_ROWS: Final = 36
"""More stations than this are shown by the plot alone: they are passed over, not stopped at."""


@dataclass(frozen=True, slots=True)
class Row:
    """A station: clock position, degrees, reading and what is left of it beside the fitted circle, in words.
    out: it does not belong, and was left out."""

    clock: str
    deg: str
    reading: str
    rest: str
    out: bool


def rows(swept: Swept, unit: str) -> list[Row]:
    """The stations in the order in which they were read; none where they are too many or nobody read them."""
    stations = swept.stations
    if len(stations) > MOST_ROWS or stations.continuous or of_two_numbers(swept.result):
        return []
    away = stations.value - _middle(swept) - _circle(swept, stations.deg)
    outliers = {round(outlier.deg, 3) for outlier in swept.result.checks.outliers}
    return [
        Row(
            clock=clock(deg),
            deg=written(round(float(deg), 1), "g"),
            reading=number(float(value), unit, signed=True),
            rest=_plain_zero(number(float(rest), unit, signed=True)),
            out=round(float(deg), 3) in outliers,
        )
        for deg, value, rest in zip(stations.deg, stations.value, away, strict=True)
    ]


def _plain_zero(digits: str) -> str:
    """A sign before nothing makes people look for what is not there."""
    return digits if says(digits) else digits.lstrip("+-")


def plot(swept: Swept, unit: str) -> str:
    """Readings about their mean against the crank's angle, and the circle fitted through them."""
    sheet = Sheet(340, 126, f"readings of {swept.record.file} round the turn")
    around = np.linspace(0.0, 360.0, 121)
    curve, shown = _circle(swept, around), swept.stations.value - _middle(swept)
    most = max(float(np.abs(shown).max()), float(np.abs(curve).max()), 1e-4) * 1.15
    across, up = Axis(0.0, 360.0, 44.0, 330.0), Axis(-most, most, 100.0, 6.0)
    for mark in Axis(-from_mm(most, unit), from_mm(most, unit), 0.0, 1.0).marks(6):
        y = up.at(to_mm(mark, unit))
        sheet.line((across.start, y), (across.end, y), stroke=FAINT, stroke_width=1.4 if mark == 0.0 else 0.7)
        sheet.text((38, y + 3.5), written(mark, "g"), 10, fill=SOFT, text_anchor="end")
    for hour, deg in (("12", 0.0), ("3", 90.0), ("6", 180.0), ("9", 270.0), ("12", 360.0)):
        sheet.line((across.at(deg), up.start), (across.at(deg), up.end), stroke=FAINT, stroke_width=0.7)
        sheet.text((across.at(deg), 114), hour, 11, fill=SOFT, text_anchor="middle")
    sheet.text((4, 114), unit, 10, fill=SOFT)
    sheet.path(
        [(across.at(float(deg)), up.at(float(y))) for deg, y in zip(around, curve, strict=True)],
        stroke=BLUE, stroke_width=1.6,
    )  # fmt: skip
    outliers = {round(outlier.deg, 3) for outlier in swept.result.checks.outliers}
    for deg, y in zip(swept.stations.deg, shown, strict=True):
        here = (across.at(float(deg)), up.at(float(y)))
        if round(float(deg), 3) in outliers:
            for way in (1.0, -1.0):
                sheet.line((here[0] - 4, here[1] - 4 * way), (here[0] + 4, here[1] + 4 * way), stroke=RED,
                           stroke_width=1.8)  # fmt: skip
        else:
            sheet.circle(here, 2.6 if len(swept.stations) <= MOST_ROWS else 1.3, fill=INK, stroke="none")
    return sheet.markup()


def _circle(swept: Swept, deg: Floats) -> Floats:
    """What the fitted circle reads at angles, mm about its mean."""
    return circle(swept.pipeline.setup, swept.result.eccentricity.vector, deg)


def _middle(swept: Swept) -> float:
    """The mean of the circle, mm; the median, so that no bad station counts."""
    rest = swept.stations.value - _circle(swept, swept.stations.deg)
    return float(np.median(rest)) if len(rest) else math.nan
