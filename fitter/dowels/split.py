"""Split pairs: two dowels of unlike size or angle, which reach what no parallel pair can.

For each pair of sizes the angles are found on a grid, all at once, and refined by ever finer grids
around the best; the aim is what is left of the offset squared plus what setting errors will add.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats
from .pins import Pins
from .setting import DowelSetting

_COARSE_DEG = 5.0
_ZOOMS = 5
_ZOOM_POINTS = 5


def best_settings(
    vector: Floats,
    size_pairs: Sequence[tuple[float, float]],
    pins: Pins,
    clearance: float,
    turn_limit: float,
    setting_sd: float,
) -> list[DowelSetting]:
    """The best angles for each pair of sizes, in the order given; pairs that cannot go in are left out.

    vector: E, mm. clearance: bind that the holes allow, mm. turn_limit: of the housing, radians.
    setting_sd: spread of the angle that a dowel is turned to, radians.
    """
    if not size_pairs:
        return []
    d = np.array(size_pairs)
    coarse = np.arange(0.0, 360.0, _COARSE_DEG)
    first, second = np.meshgrid(coarse, coarse, indexing="ij")
    th1 = np.broadcast_to(first.ravel(), (len(d), first.size))
    th2 = np.broadcast_to(second.ravel(), (len(d), first.size))
    width = _COARSE_DEG
    score = np.empty(0)
    for _ in range(_ZOOMS + 1):
        left, swings, possible = _reached(vector, d, (th1, th2), pins, clearance, turn_limit)
        score = np.where(possible, left + setting_sd**2 * swings, np.inf)
        best = np.argmin(score, axis=1)
        rows = np.arange(len(d))
        at1, at2, score = th1[rows, best], th2[rows, best], score[rows, best]
        steps = np.linspace(-width, width, 2 * _ZOOM_POINTS + 1)
        offset1, offset2 = (grid.ravel() for grid in np.meshgrid(steps, steps, indexing="ij"))
        th1, th2 = at1[:, None] + offset1, at2[:, None] + offset2
        width /= _ZOOM_POINTS
    return [
        DowelSetting((float(d1), float(d2)), (float(a1), float(a2)))
        for (d1, d2), a1, a2, s in zip(size_pairs, at1, at2, score, strict=True)
        if math.isfinite(s)
    ]


def _reached(
    vector: Floats, d: Floats, degrees: tuple[Floats, Floats], pins: Pins, clearance: float, turn_limit: float
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """What is left squared, mm^2; its variance for angles a radian off, mm^2; and whether the dowels go in.

    d: sizes, shape (pairs, 2); degrees, and each answer: (pairs, angles).
    """
    shifts, lefts, swings = [], vector, 0.0
    for k, (deg, A) in enumerate(zip(degrees, pins.influence(), strict=True)):
        rad = np.deg2rad(deg)
        size = d[:, k][:, None, None]
        shift = size * np.stack([np.sin(rad), np.cos(rad)], axis=-1)
        turned = size * np.stack([np.cos(rad), -np.sin(rad)], axis=-1) @ A.T
        swings = swings + (turned * turned).sum(axis=-1)
        lefts = lefts + shift @ A.T
        shifts.append(shift)
    possible = (np.abs(pins.bind(*shifts)) <= clearance) & (np.abs(pins.turn(*shifts)) <= turn_limit)
    return (lefts * lefts).sum(axis=-1), np.asarray(swings), possible
