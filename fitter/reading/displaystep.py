"""The smallest step of a dial's display, from what it showed."""

import math
from itertools import product
from typing import Final

import numpy as np

from ..numeric.basis import Floats
from ..units import MM_PER_INCH, MM_PER_THOU
from .setup import Setup
from .stations import Stations

COARSEST_MM: Final = 0.02
"""No dial that a housing is swept with has a coarser digit (common practice, no source)."""

MET_MM: Final = {0.01: 0.35, 0.005: 0.04, 0.001: 0.5, 0.0005: 0.04, 0.0001: 0.02}
MET_INCH: Final = {0.001: 0.1, 0.0005: 0.35, 0.0001: 0.25, 0.00005: 0.2, 0.00001: 0.06}
"""Steps of displays in mm and in inches, and how often they are met (common practice, no source)."""

_SURE: Final = 0.95
"""How likely a step of the display must be that nobody stated, or a coarser one."""

_COARSE_MM: Final = 0.14 * MM_PER_THOU
"""From which a step matters. A finer one errs by less than a dial scatters at the least (`mixture.priors`):
itself over the square root of 12 (JCGM 100:2008, F.2.2.1)."""

_FINEST: Final = 1e-4
_FINEST_APART: Final = 1e-6
_MET: Final = sorted(
    [*MET_MM.items(), *((step * MM_PER_INCH, often) for step, often in MET_INCH.items())],
    reverse=True,
)
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


def reckoned(setup: Setup, stations: Stations) -> float:
    """The step that a sweep is reckoned with, mm: as was said, else what the readings are sure of, if it
    matters; 0 for none.

    Of readings of a finer step each lies on a coarser one by chance: once in as many as there are finer steps
    in it. Readings that are equal are one, since a good bore reads the same all round with any dial.
    """
    if setup.resolution_mm or setup.calibration or setup.two_numbers:
        return setup.resolution_mm
    shown = _shown(setup, stations)
    apart, others = _whole_numbers(stations, shown), len(np.unique(np.round(shown, 6))) - 1
    may_be = [(step, often) for step, often in _MET if _whole(apart, step)]
    if not may_be or others < 1:
        return 0.0
    coarsest = may_be[0][0]
    likely = np.array([often * (step / coarsest) ** others for step, often in may_be])
    sure = int(np.argmax(np.cumsum(likely) >= _SURE * likely.sum()))
    return may_be[sure][0] if may_be[sure][0] > _COARSE_MM else 0.0


def _whole_numbers(stations: Stations, shown: Floats) -> Floats:
    """Sizes that are whole numbers of steps if all that was shown is, mm: of readings beside a single one,
    else the display's nought; and of the sum of those that a mean was taken of."""
    meant = stations.scatter > 0.0
    beside = 0.0 if meant.all() else shown[~meant][0]
    return _told((shown - beside) * np.where(meant, stations.count, 1))


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
