"""All that speaks against the stations of one sweep."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from ..numeric.basis import Floats
from ..numeric.logs import log_sum
from ..reading.setup import Setup
from ..reading.stations import Stations
from ..result import FORBIDS, Kind, Remark
from .angles import angles
from .before import Before
from .flat import holds, keeps, still
from .passed import never_moved
from .sweeping import Looked, Weighed
from .switched import switched

TELLING, MATTERS = math.log(2.0), 0.1
"""Logarithm of the odds from which a doubt forbids a verdict, twice as likely as not; and, where it forbids
no more than to call a bore inside, chance of one over the limit that reads like this. What is less likely
takes its chance from that of being inside, which is lost from one in twenty on."""

SMALL: Final = 0.02
"""Chance that nobody needs to hear of: a probability of being inside is not told closer than that."""

_WORTH: Final = -5.0
"""Logarithm of odds from which a doubt is worth a second look."""

FEWEST: Final = 4
_MOST: Final = 50.0
STILL: Final[tuple[Kind, ...]] = ("dead_dial", "not_turned")
UNLOOKED: Final = ("sag", "steps")
"""What may stand still, and hardly moves where all is well."""


def clues(
    setup: Setup, stations: Stations, before: Before | None = None, stops: Sequence[Weighed] = ()
) -> list[Remark]:
    """What was seen; stations as they were read. before: an earlier sweep of the same surface. stops: as the
    model weighs them (`flat.stops`, `passed.stands`). A warning is a doubt, a note with its `chance` none
    yet."""
    if setup.feature in UNLOOKED or len(stations) < FEWEST:
        return []
    if stations.continuous:
        found = [*never_moved(setup, stations), *_apart(setup, _by_kind(stops))]
        doubts = {each.kind for each in found if each.level == "warning"}
        return found if doubts - set(setup.sure) else [*found, *angles(setup, stations)]
    looked = Looked.at(setup, stations, before)
    equal = [each for look in (still, holds, keeps) for each in look(looked)]
    together = _by_kind([*_beside_a_knock(looked, equal), *switched(looked), *stops])
    return _apart(setup, together, hardly=looked.hardly)


def _apart(setup: Setup, together: Sequence[Weighed], *, hardly: bool = False) -> list[Remark]:
    """What is told: what somebody made sure of says nothing of the rest."""
    lifted = [each for each in together if each.remark.kind in setup.sure]
    others = [each for each in together if each.remark.kind not in setup.sure]
    if hardly and any(each.remark.kind in STILL for each in lifted):
        others = []
    return [*_found(lifted, hardly=hardly), *_found(others, hardly=hardly)]


def _found(weighed: Sequence[Weighed], *, hardly: bool) -> list[Remark]:
    """What is told of these, the likeliest first. In what `hardly` moved a stop and a hold are found as
    well: it is told as what it is."""
    if not weighed:
        return []
    doubt = hardly and _tells(weighed)
    rests = [each for each in weighed if each.remark.kind in STILL and (doubt or each.odds >= TELLING)]
    return [rests[0].remark] if rests else _told(weighed)


def _tells(weighed: Sequence[Weighed]) -> bool:
    """Whether the likeliest of these is a doubt."""
    first, odds = weighed[0], _odds(weighed)
    if FORBIDS[first.remark.kind] == "both":
        return first.odds >= TELLING
    return first.odds >= TELLING and float(odds[0] / (1.0 + odds.sum())) * first.over > MATTERS


def _beside_a_knock(looked: Looked, weighed: Sequence[Weighed]) -> list[Weighed]:
    """Readings that are equal, against those of a bore whose zero moved on the way."""
    if all(each.odds < _WORTH for each in weighed):
        return list(weighed)
    likelier = looked.with_a_knock - looked.plain
    return [replace(each, odds=each.odds - likelier) for each in weighed]


def _by_kind(weighed: Sequence[Weighed]) -> list[Weighed]:
    """Of each kind the likeliest, with the odds of all that are of that kind; the likeliest first."""
    kinds: dict[Kind, list[Weighed]] = {}
    for each in weighed:
        kinds.setdefault(each.remark.kind, []).append(each)
    together = []
    for of in kinds.values():
        logs = np.array([each.odds for each in of])
        shares = np.exp(logs - log_sum(logs))
        over = float(shares @ np.array([each.over for each in of]))
        together.append(Weighed(log_sum(logs), of[int(np.argmax(logs))].remark, over, of[0].counted))
    return sorted(together, key=lambda each: -each.odds)


def _odds(weighed: Sequence[Weighed]) -> Floats:
    return np.exp(np.minimum([each.odds for each in weighed], _MOST))


def _told(weighed: Sequence[Weighed]) -> list[Remark]:
    """The likeliest as a warning, if it is a doubt; else, and of what forbids any verdict where the likeliest
    does not, a note. `chance`: of a bore over the limit that reads like this; `chance_both`: of readings
    that tell nothing either way; `chance_in_bar`: what of the first the model's answer holds already."""
    odds = _odds(weighed)
    chances = (odds / (1.0 + odds.sum())).tolist()
    first, told = weighed[0], list[Remark]()
    if _tells(weighed):
        told.append(first.remark)
        weighed = weighed[1:]
        if FORBIDS[first.remark.kind] == "both":
            return told
    pairs = list(zip(weighed, chances[len(told) :], strict=True))
    over = sum(chance * each.over for each, chance in pairs)
    both = sum(chance for each, chance in pairs if FORBIDS[each.remark.kind] == "both")
    if max(over, both) > SMALL:
        remark = weighed[0].remark
        held = sum(chance * each.over for each, chance in pairs if each.counted)
        known = {"chance_in_bar": held} if held else {}
        told.append(Remark.note(remark.kind, **remark.facts, chance=over, chance_both=both, **known))
    return told
