"""Two sweeps, a pair that was planned between them, and findings, made for the tests of a proof."""

import math

from coaxly.fitter.dowels.compare import CANNOT_BE_TOLD, Finding
from coaxly.fitter.dowels.explain import Explanation
from coaxly.fitter.dowels.kit import Kit, Size
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.geometry import clock, direction, polar
from coaxly.fitter.result import Eccentricity
from coaxly.fitter.units import MM_PER_THOU as THOU

SD = 0.25 * THOU
FOUND = polar(7 * THOU, 250.0)
PLAN = DowelSetting((6 * THOU, 6 * THOU), (70.0, 70.0))
PINS = Pins((-5.5 * 25.4, -25.4), (5.5 * 25.4, -25.4))
MARKED = {"180 degrees out", "mirrored", "not turned to the mark", "one half a turn out", "one mirrored"}
"""Causes that are cured by turning dowels to where they belong."""


def sweep(vector, sd=SD, freedom=5.0):
    """The finding of a sweep, known to `sd` mm either way."""
    x, y = vector
    deg = direction(-x, -y)
    return Eccentricity(
        amount=math.hypot(x, y), unbiased=0.0, high_deg=deg, high_clock=clock(deg), move_deg=deg,
        move_clock=clock(deg), vector=(x, y), covariance=((sd**2, 0.0), (0.0, sd**2)), freedom=freedom,
        u95_amount=2 * sd, u95_deg=5.0, detected=True, detectable=3 * sd,
    )  # fmt: skip


def kit_of(*offsets, tolerance=0.3):
    """A kit, in thou."""
    sizes = tuple(Size(offset * THOU) for offset in offsets)
    return Kit("drawer", sizes, offset_sd=tolerance * THOU).checked()


def among(*causes, marks=(125.0,)):
    """A finding that cannot tell between these."""
    each = tuple(Explanation(cause, 0.4, marks if cause in MARKED else ()) for cause in causes)
    return Finding(CANNOT_BE_TOLD, 0.4 * len(causes), each)
