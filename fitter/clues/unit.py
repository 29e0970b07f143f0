"""A unit that is not what was said: the steps of the readings and their swing fit another one better.

A swing alone tells little, since bores are off by anything; but displays come in steps of their unit.
"""

from typing import Final

import numpy as np

from ..numeric.basis import Floats
from ..reading.displaystep import MET_INCH, MET_MM, step_in
from ..reading.setup import Setup
from ..reading.stations import Stations
from ..units import MM_PER_INCH

_OTHER_MM, _OTHER_INCH = 0.005, 0.01
"""How often any other step of a display in mm and in inches is met (common practice, no source)."""

_FINEST_MM, _FINER_MM = 0.0001, 0.0001
"""Of displays in mm the finest that a housing is swept with, and how often any finer one is met: its last
digits would never rest (common practice, no source)."""

_GOOD, _POOR = (0.2, 0.8), (1.8, 1.3)
"""Swing of a good bore and of a poor one: median as a share of the limit, and standard deviation of its
natural logarithm (common practice, no source)."""

_ARE_GOOD: Final = {"left": 0.7}
_ARE_GOOD_FOUND: Final = 0.4
"""How many are good as left, and as found (common practice, no source)."""


def better(
    setup: Setup,
    stations: Stations,
    swing: float,
    units: tuple[float, float],
    stage: str,
    *,
    display: bool = True,
) -> float:
    """How many times better another unit explains the readings. swing: of them, mm; units: that which was
    said, and the other, mm; stage: "left", or another; display: whether the numbers
    are those of one display as it stands, no counts, and nobody reckoned them."""
    said, other = units
    good = _ARE_GOOD.get(stage, _ARE_GOOD_FOUND)
    step = step_in(setup, stations, said, display=display)
    steps = _met(step, other) / _met(step, said, finest=_FINEST_MM if display else 0.0)
    shares = np.array([swing * other / said, swing]) / setup.limit_mm
    if not shares.all():
        return 0.0
    often = good * _density(shares, *_GOOD) + (1.0 - good) * _density(shares, *_POOR)
    return steps * float(often[0] / often[1])


def _density(share: Floats, median: float, sd: float) -> Floats:
    """Of the logarithm of the swing, but for a factor."""
    density: Floats = np.exp(-((np.log(share / median) / sd) ** 2) / 2.0) / sd
    return density


def _met(step: float, unit: float, *, finest: float = 0.0) -> float:
    """How often a dial's display has such a step of a unit of so many mm: one, or some part of an inch.
    finest: in mm, below which there is hardly any; 0 for none."""
    if unit == 1.0 and 0.0 < step < 0.99 * finest:
        return _FINER_MM
    table, other, whole = (MET_MM, _OTHER_MM, 1.0) if unit == 1.0 else (MET_INCH, _OTHER_INCH, MM_PER_INCH)
    return next(
        (often for each, often in table.items() if abs(step * unit / whole / each - 1.0) < 0.01), other
    )
