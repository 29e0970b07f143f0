"""All that speaks against the stations of one sweep."""

import math
from collections.abc import Sequence
from typing import Final

from ..reading.setup import Setup
from ..reading.stations import Stations
from ..result import Kind, Remark
from .angles import angles
from .flat import holds, keeps, still, stops
from .passed import stood
from .sweeping import Looked, Weighed
from .switched import switched

TELLING: Final = 0.0
"""Logarithm of the odds from which a doubt forbids a verdict: as likely as not. What is less likely takes its
chance from that of being inside, which is lost from one in twenty on."""

SMALL: Final = 0.02
"""Chance that nobody needs to hear of: a probability of being inside is not told closer than that."""

_FEWEST: Final = 4
_UNLOOKED: Final = ("sag", "steps")
"""What may stand still, and hardly moves where all is well."""


def clues(setup: Setup, stations: Stations) -> list[Remark]:
    """What was seen; stations as they were read. A warning is a doubt, a note with its `chance` none yet."""
    if setup.feature in _UNLOOKED or len(stations) < _FEWEST:
        return []
    if stations.continuous:
        return stood(setup, stations) or angles(stations)
    looked = Looked.at(setup, stations)
    weighed = [each for look in (still, stops, holds, keeps, switched) for each in look(looked)]
    likeliest = max(weighed, key=lambda each: each.odds, default=None)
    if likeliest is None:
        return []
    if likeliest.odds >= TELLING:
        return [likeliest.remark]
    return _perhaps(weighed, likeliest.remark)


def _perhaps(weighed: Sequence[Weighed], likeliest: Remark) -> list[Remark]:
    """A note of what is not likely enough for a doubt, with the `chance` of all of it together."""
    largest: dict[Kind, float] = {}
    for each in weighed:
        largest[each.remark.kind] = max(each.odds, largest.get(each.remark.kind, -math.inf))
    together = sum(map(math.exp, largest.values()))
    chance = together / (1.0 + together)
    return [Remark.note(likeliest.kind, **likeliest.facts, chance=chance)] if chance > SMALL else []
