"""How far both dowels may be turned off their marks before the bore ends outside the limit: once as they are
computed, and once so that the bore ends inside with the probability that a verdict asks for, with all that
is uncertain about the measurement and the dowels.
"""

import math
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ..certainty.decision import SURE, chances_within
from ..numeric.basis import Floats
from .measurement import Measurement
from .pins import Pins
from .setting import DowelSetting, carried

_STEP_DEG = 0.5


def surely_inside(
    known: Measurement, setting: DowelSetting, influence: tuple[Floats, Floats], limit: float,
    upto: float | None, offset_sd: float,
) -> float | None:  # fmt: skip
    """Half-width in degrees of the angles, each dowel off either way, up to which the bore ends within the
    TIR `limit` (mm) with a probability of at least 95 %; None where it does not even with both on
    their marks.

    upto: the half-width of the angles at which the measured vector itself ends inside, beyond which no
    chance is that good (None: none). offset_sd: of a dowel's offset, mm.
    """
    if upto is None:
        return None
    made = known.spread(carried([setting], influence, offset_sd, 0.0)[1][0])
    off = np.append(np.arange(0.0, upto, _STEP_DEG), upto)
    worst = np.ones(len(off))
    for signs in product((-1.0, 1.0), repeat=2):
        a, b = (deg + sign * off for deg, sign in zip(setting.degrees, signs, strict=True))
        turned = [DowelSetting(setting.offsets, pair) for pair in zip(a.tolist(), b.tolist(), strict=True)]
        left = known.vector + carried(turned, influence)[0]
        worst = np.minimum(worst, chances_within(limit / 2.0, left, made.covariance, made.freedom))
    return _before(off, worst < SURE)


def pair_window(vector: Floats, setting: DowelSetting, pins: Pins, limit: float, bind: float) -> float | None:
    """How far both dowels of a pair may be off, degrees either way each, and the vector (2,) still ends
    within the TIR `limit`, binding by no more than `bind` (mm); None where it does not on their marks."""
    off = np.arange(0.0, 180.5, 0.5)
    worst = np.zeros(len(off))
    for signs in product((-1.0, 1.0), repeat=2):
        radians = np.deg2rad(setting.degrees + np.outer(off, signs))
        shift, binds = pins.carry(np.array(setting.offsets), radians)
        left = vector + shift
        worst = np.maximum(worst, 2.0 * np.hypot(left[:, 0], left[:, 1]))
        worst[np.abs(binds) > bind * (1.0 + 1e-9)] = math.inf
    return _before(off, worst > limit)


def _before(off: Floats, bad: NDArray[np.bool_]) -> float | None:
    """The last angle before the first that is bad; None where that is the first of all."""
    first = int(np.argmax(bad)) if bad.any() else len(off)
    return float(off[first - 1]) if first else None
