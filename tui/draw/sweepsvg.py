"""One sweep as a drawing: stations on the clock, the circle fitted through them, and the way to go."""

from typing import Final

import numpy as np

from coaxly.fitter import Result
from coaxly.fitter.analysis import circle
from coaxly.fitter.numeric.basis import Floats
from coaxly.fitter.reading.setup import Setup

from ..entry.lengths import show_length
from ..say.job.reportwords import short_verdict
from ..say.smallwords import capital
from ..say.sweep.features import SWEPT, on_the_part
from ..say.sweep.findings import must_move
from .clockface import off
from .svg import BLUE, FAINT, INK, RED, SOFT, Point, Sheet

_WIDTH: Final = 360.0
_HEIGHT: Final = 372.0
_MIDDLE: Final = (180.0, 164.0)
_RADIUS: Final = 92.0
"""Of the ring of the mean reading."""
_SWING: Final = 30.0
"""How far from it the farthest reading is drawn."""
_FEW: Final = 72


def sweep_svg(setup: Setup, result: Result, stations: dict[str, Floats], unit: str) -> str:
    """Readings about their mean round the clock, outwards where they are higher, as SVG.

    stations: columns `deg`, `value_mm`, `corrected_mm`. A station that does not belong is a cross, at what
    was read; others that do not count, such as a closing reading, are left out.
    """
    ecc = result.eccentricity
    way = _way(result, unit)
    sheet = Sheet(_WIDTH, _HEIGHT, f"{capital(SWEPT[result.feature])} seen from behind: {way}")
    deg, corrected = stations["deg"], stations["corrected_mm"]
    counts = ~np.isnan(corrected)
    mean = float(np.median(corrected[counts] - circle(setup, ecc.vector, deg[counts])))
    away = np.where(counts, corrected, stations["value_mm"]) - mean
    around = np.linspace(0.0, 360.0, 121)
    curve = circle(setup, ecc.vector, around)
    # A tip that fell into a bolt hole must not press all else flat.
    most = max(float(np.abs(away[counts]).max()), float(np.abs(curve).max()), 1e-6)

    def at(where: float, mm: float) -> Point:
        return off(_MIDDLE, where, _RADIUS + _SWING * min(max(mm / most, -1.6), 1.6))

    _clock(sheet)
    sheet.path([at(*point) for point in zip(around.tolist(), curve.tolist(), strict=True)], stroke=BLUE,
               stroke_width=1.8)  # fmt: skip
    dot = 3.2 if len(deg) <= _FEW else 1.5
    strange = {round(outlier.deg, 3) for outlier in result.checks.outliers}
    for where, mm, used in zip(deg.tolist(), away.tolist(), counts.tolist(), strict=True):
        x, y = at(where, mm)
        if used:
            sheet.circle((x, y), dot, fill=INK, stroke="none")
        for rise in (4.0, -4.0) if not used and round(where, 3) in strange else ():
            sheet.line((x - 4.0, y - rise), (x + 4.0, y + rise), stroke=RED, stroke_width=1.8)
    if ecc.has_direction:
        sheet.arrow(_MIDDLE, off(_MIDDLE, ecc.move_deg, 0.62 * _RADIUS), RED, 3.4)
    scale = f"outwards: higher; farthest from the mean: {show_length(most, unit)}; seen from behind"
    sheet.text((_MIDDLE[0], 345), f"{short_verdict(result.decision)}: {way}", 14, text_anchor="middle")
    sheet.text((_MIDDLE[0], 363), scale, 11, fill=SOFT, text_anchor="middle")
    return sheet.markup()


def _way(result: Result, unit: str) -> str:
    """What the arrow says, in words."""
    ecc = result.eccentricity
    size = show_length(2.0 * ecc.amount, unit)
    if not ecc.has_direction:
        return f"run-out {size}, no direction found"
    if result.feature == "bore":
        move = "move the housing to" if must_move(result) else "a move to centre it: to"
        return f"run-out {size}, {move} {ecc.move_clock}"
    return f"run-out {size}, high at {ecc.high_clock}{on_the_part(result.feature)}"


def _clock(sheet: Sheet) -> None:
    sheet.circle(_MIDDLE, _RADIUS, stroke=FAINT, stroke_dasharray="4 3")
    rim = _RADIUS + 1.6 * _SWING
    for k in range(12):
        sheet.line(off(_MIDDLE, 30.0 * k, rim - 4.0), off(_MIDDLE, 30.0 * k, rim), stroke=FAINT)
    sheet.hours(_MIDDLE, rim + 11.0)
