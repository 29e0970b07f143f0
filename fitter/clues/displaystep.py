"""The smallest step of a dial's display, from what it showed."""

import math
from itertools import product
from typing import Final

import numpy as np

from ..numeric.basis import Floats
from ..reading.setup import Setup
from ..reading.stations import Stations
from ..units import MM_PER_INCH

COARSEST_MM: Final = 0.02
"""No dial that a housing is swept with has a coarser digit (common practice, no source)."""

_FINEST: Final = 1e-4
_FINEST_APART: Final = 1e-6
_STEPS: Final = sorted(
    (unit * lead * 10.0**-power for unit, lead, power in product((1.0, MM_PER_INCH), (1, 2, 5), range(1, 7))),
    reverse=True,
)


def count_of(setup: Setup, stations: Stations) -> float:
    """In mm, on the dial's own scale: as was said, else the largest usual step that all readings which are no
    means are a whole number of; 0 where they do not tell."""
    if setup.resolution_mm:
        return setup.resolution_mm
    apart = _apart(setup, stations)
    if not len(apart):
        return 0.0
    usual = (step for step in _STEPS if _FINEST <= step <= COARSEST_MM and _whole(apart, step))
    return next(usual, _FINEST)  # digits finer than any dial's


def step_in(setup: Setup, stations: Stations, unit: float, *, display: bool = True) -> float:
    """The same by the readings alone, in a unit of so many mm, one or five of a decimal place; 0 where
    they do not tell, and where there is none in that unit. display: all are numbers of one display, so that
    of those that a mean was taken of the sum tells: it is a whole number of steps, too."""
    apart = _apart(setup, stations)
    if display and not setup.calibration:
        meant = stations.scatter > 0.0
        apart = np.concatenate([apart, _told((_shown(setup, stations) * stations.count)[meant])])
    steps = (lead * 10.0**-power for power in range(1, 7) for lead in (5, 1))
    return next((step for step in steps if _whole(apart / unit, step)), 0.0)


def _apart(setup: Setup, stations: Stations) -> Floats:
    """By how much single readings differ, mm, on the dial's own scale; none where they are off its steps."""
    if setup.calibration:
        return np.empty(0)
    single = _shown(setup, stations)[~(stations.scatter > 0.0)]
    return _told(np.concatenate([single - single[0] if len(single) else single, stations.moved]))


def _shown(setup: Setup, stations: Stations) -> Floats:
    """Mean of what the dial showed at each station, mm, but for its sign."""
    shown: Floats = stations.value / math.cos(math.radians(setup.tip_angle_deg))
    return shown


def _told(numbers: Floats) -> Floats:
    """The sizes of those that say anything of the steps."""
    sizes = np.abs(numbers[np.isfinite(numbers)])
    found: Floats = sizes[sizes > _FINEST_APART]
    return found


def _whole(apart: Floats, step: float) -> bool:
    if not len(apart):
        return False
    return bool(np.all(np.abs(apart / step - np.round(apart / step)) < 0.01))
