"""What stands between the number on the indicator and the distance to the wall.

Each correction is optional, and `applied` reports each one that was used, with its size.
"""

import math

import numpy as np

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


def sag_cosine(setup: Setup) -> float:
    """What the droop of the indicator's arm adds to the reading, as a factor of cos th, in mm.

    The body of the indicator hangs `sag_mm` low at every station: inside a bore it comes closer
    to the bottom wall, so the reading gains -s cos th; on an outside surface +s cos th. With the
    crank upright (engine on end) droop is the same all round and drops out.
    """
    if setup.crank == "upright" or setup.feature == "face":
        return 0.0
    return -setup.sag_mm if setup.surface == "inside" else setup.sag_mm


def bearing_shift(setup: Setup) -> float:
    """How far the crank's axis, resting low in its bearings, lies below their centre, in mm."""
    if setup.crank == "upright" or setup.feature == "face":
        return 0.0
    return setup.bearing_clearance_mm / 2.0


def applied(setup: Setup, drift_mm: float | None) -> dict[str, float]:
    """The corrections in use and their sizes: lengths in mm, `tip_factor` as a factor."""
    sizes: dict[str, float] = {}
    if setup.calibration:
        sizes["calibration_mm"] = max((abs(c) for _, c in setup.calibration), default=0.0)
    if setup.tip_angle_deg:
        sizes["tip_factor"] = math.cos(math.radians(setup.tip_angle_deg))
    if sag := sag_cosine(setup):
        sizes["sag_mm"] = abs(sag)
    if shift := bearing_shift(setup):
        sizes["bearing_shift_mm"] = shift
    if drift_mm is not None:
        sizes["drift_mm"] = drift_mm
    return sizes
