"""Dowels that do not let the housing on are turned until it goes on: where the bore then comes to lie.

Its marks were set with a slip each, and what they disagree by along the line of the holes was more than the
clearance: then a dowel is turned a little, this one, the other, or both. Such a pair stands off its marks
and has carried the bore elsewhere than was planned, and nobody made a mistake. The slips are run through
one by one, with the turning exact and not to first order, for high sides along the line turn far.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from ..numeric.basis import Floats
from .pins import Pins
from .seating import MOST_TURN_DEG, Slips
from .setting import DowelSetting

_SLIPS: Final = 1500
_TURNED: Final = ((1.0, 1.0), (1.0, 0.0), (0.0, 1.0))
"""Which dowels are turned: both by the least rotation, or one of them alone; as often the one as the other
(common practice, no source)."""
_STEP_RAD: Final = 0.05
_ROUNDS: Final = 60
_HOME_MM: Final = 1e-7


@dataclass(frozen=True, slots=True)
class Home:
    """How a pair that may settle can end.

    as_marked, settled: shifts of the bore, mm, (n, 2) each, where every dowel stayed at its mark, and where
    one was turned.
    share_settled: of those that went on.
    """

    as_marked: Floats
    settled: Floats
    share_settled: float


def home(setting: DowelSetting, pins: Pins, slips: Slips) -> Home | None:
    """The ends of a pair. None where it is set tight, so that it never settles, or does not go on at all."""
    if slips.way != "free":
        return None
    offsets, start = _made(setting, slips)
    turned = np.array(_TURNED)[np.arange(len(offsets)) % len(_TURNED)]
    at, bind = start.copy(), np.empty(len(offsets))
    along, pulls = pins.axes()[0], np.array([-1.0, 1.0]) * offsets
    for _ in range(_ROUNDS):
        _, bind = pins.carry(offsets, at)
        slopes = pulls * (along[0] * np.cos(at) - along[1] * np.sin(at))  # of bind, mm a radian
        over = bind - np.clip(bind, -slips.clearance, slips.clearance)
        if float(np.abs(over).max()) < _HOME_MM:
            break
        slopes = slopes * turned
        size = np.maximum((slopes * slopes).sum(axis=1), 1e-12)
        at = at + np.clip(-(over / size)[:, None] * slopes, -_STEP_RAD, _STEP_RAD)
    on = np.abs(bind) <= slips.clearance + 10.0 * _HOME_MM
    on &= np.abs(at - start).max(axis=1) <= math.radians(MOST_TURN_DEG)
    settled = on & (at != start).any(axis=1)
    if not on.any():
        return None
    shift, _ = pins.carry(offsets, at)
    return Home(shift[on & ~settled], shift[settled], float(settled.sum() / on.sum()))


def _made(setting: DowelSetting, slips: Slips) -> tuple[Floats, Floats]:
    """Dowels as they are made and marked: offsets (n, 2), mm, and angles (n, 2), radians."""
    # Evenly spread in four dimensions: steps of the root of x^5 = x + 1, then Box and Muller's way to the
    # normal distribution. The same slips every time, whatever a library thinks of random numbers.
    root = 1.1673039782614187
    k = np.arange(1.0, _SLIPS + 1.0)
    u = (0.5 + k[:, None] * root ** -np.arange(1.0, 5.0)) % 1.0
    radius, angle = np.sqrt(-2.0 * np.log(1.0 - u[:, :2])), 2.0 * math.pi * u[:, 2:]
    offsets = np.array(setting.offsets) + slips.offset_sd * radius * np.cos(angle)
    at = np.deg2rad(setting.degrees) + math.radians(slips.setting_sd) * radius * np.sin(angle)
    return offsets, at
