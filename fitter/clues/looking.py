"""All that speaks against the stations of one sweep."""

import math
from typing import Final

from ..reading.setup import Setup
from ..reading.stations import Stations
from ..result import Remark
from .angles import angles
from .flat import holds, keeps, still, stops
from .passed import stood
from .sweeping import Looked
from .switched import switched

TELLING: Final = math.log(1.0 / 3.0)
"""Logarithm of the odds from which a doubt is told: a wrong verdict costs three times what one more sweep
does (common practice, no source)."""

_FEWEST: Final = 4
_UNLOOKED: Final = ("sag", "steps")
"""What may stand still, and hardly moves where all is well."""


def clues(setup: Setup, stations: Stations) -> list[Remark]:
    """What was seen, each kind once; stations as they were read."""
    if setup.feature in _UNLOOKED or len(stations) < _FEWEST:
        return []
    if stations.continuous:
        return stood(setup, stations) or angles(stations)
    looked = Looked.at(setup, stations)
    weighed = [each for look in (still, stops, holds, keeps, switched) for each in look(looked)]
    likeliest = max(weighed, key=lambda each: each.odds, default=None)
    if likeliest is None or likeliest.odds < TELLING:
        return []
    return [likeliest.remark]
