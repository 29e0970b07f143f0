"""What stands between the number on the indicator and the distance to the wall.

Each correction is optional, and `applied` reports each one that was used, with its size.
"""

import math

import numpy as np

from ..geometry import Vector, upwards
from ..numeric.basis import Floats
from .setup import Setup


def readings(setup: Setup, shown_mm: Floats) -> Floats:
    """Readings in mm as the plunger's travel towards the wall, from the numbers shown in mm.

    In this order: the indicator's own calibration table (piecewise linear, held level beyond its
    ends), the direction of counting, and the cosine of the tip's angle: true = shown x cos a.
    """
    value = shown_mm
    if setup.calibration:
        at, correction = np.array(setup.calibration).T
        value = value + np.interp(value, at, correction)
    if setup.polarity < 0:
        value = -value
    if setup.tip_angle_deg:
        value = value * math.cos(math.radians(setup.tip_angle_deg))
    return value


def droop(setup: Setup) -> Vector:
    """What the droop of the indicator's arm adds to the reading: (a, b) of a cos th + b sin th, mm.

    The body of the indicator hangs `sag_mm` low at every station: inside a bore it comes closer
    to the wall below, so the reading loses s up.u(th), where `up` is plumb upwards on the engine; on an
    outside surface it gains that. With the crank upright (engine on end) droop is the same all round
    and drops out.
    """
    if not _weighs(setup) or not setup.sag_mm:
        return 0.0, 0.0
    x, y = upwards(setup.engine_tilt_deg)
    s = -setup.sag_mm if setup.surface == "inside" else setup.sag_mm
    return s * y, s * x


def resting(setup: Setup) -> Vector:
    """Where the crank's axis, resting low in its bearings, lies from their centre: (x, y), mm."""
    if not _weighs(setup) or not setup.bearing_clearance_mm:
        return 0.0, 0.0
    x, y = upwards(setup.engine_tilt_deg)
    low = -setup.bearing_clearance_mm / 2.0
    return low * x, low * y


def _weighs(setup: Setup) -> bool:
    """Whether weight pulls across the axis that the dial goes round, and shows in a bore. A dial that stands
    still hangs the same at every station."""
    return setup.crank == "level" and setup.feature == "bore"


_LEAST_LATE_S = 0.01
"""A delay of less moves nothing that is worth a word."""


def applied(setup: Setup, drift_mm: float | None, late_s: float = 0.0) -> dict[str, float]:
    """The corrections in use and their sizes: lengths in mm, `tip_factor` as a factor, angles in degrees,
    times in s."""
    sizes: dict[str, float] = {}
    if setup.calibration:
        sizes["calibration_mm"] = max((abs(c) for _, c in setup.calibration), default=0.0)
    if setup.tip_angle_deg:
        sizes["tip_factor"] = math.cos(math.radians(setup.tip_angle_deg))
    weight = {"sag_mm": math.hypot(*droop(setup)), "bearing_shift_mm": math.hypot(*resting(setup))}
    sizes |= {name: size for name, size in weight.items() if size}
    if setup.engine_tilt_deg and any(weight.values()):
        sizes["engine_tilt_deg"] = setup.engine_tilt_deg
    if drift_mm is not None:
        sizes["drift_mm"] = drift_mm
    if abs(late_s) >= _LEAST_LATE_S:
        sizes["delay_s"] = late_s
    return sizes
