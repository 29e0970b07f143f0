"""Did something change over time: a tool that wears (a trend), a new batch (a step)?

Looked for in each family by itself, in what the ledger cannot explain otherwise: every job's own
departure, in units of its own scatter. The largest step is judged against the largest step of pure
chance (a permutation-free Monte Carlo of standard normal departures, after G. A. Barnard, J. R. Statist.
Soc. B 25 (1963) 294), a trend by its F test, and all of them together by Bonferroni's bound. One cause
shows as a step and as a trend, in the blocks and in the housings that it met: so the likeliest is taken
out before the rest is looked at again (stepwise, as outliers are: B. Rosner, Technometrics 25 (1983) 165).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats
from .ledger import Found, Ledger, Side

FEWEST = 8
"""Jobs of a family below which nothing is looked for."""

FALSE_ALARM = 0.05
"""Chance of reporting any change in a shop in which nothing changes."""

_DRAWS = 20_000
_EACH_SIDE = 3
_MOST_SPLITS = 100
_MOST_LIKE = 512
_MOST_TOLD = 20


@dataclass(frozen=True, slots=True)
class Change:
    """kind: "step" (from `day` on) or "trend" (day: None). shift: mm, after less before, or over the whole
    time. chance: of one as large where nothing changes, all families looked at. explains: share of the
    family's departures, squared, that it accounts for; jobs: of the family, before `day` and since. also:
    families of the other side that were met in the very same jobs, and may be to blame as well. other: the
    same cause taken for the other kind."""

    side: Side
    family: str
    kind: Literal["step", "trend"]
    day: float | None
    shift: tuple[float, float]
    chance: float
    explains: float
    jobs: tuple[int, int]
    also: tuple[str, ...] = ()
    other: "Change | None" = None


def changes(found: Sequence[Found], ledger: Ledger) -> tuple[Change, ...]:
    """Changes that chance hardly explains, likeliest first, each cause once. Jobs without a day are left
    out."""
    departures = ledger.fitted.model.departures(ledger.fitted.sds)
    families = [look for look in _looks(found, ledger) if len(look.jobs) >= FEWEST]
    told: list[Change] = []
    while len(told) < _MOST_TOLD:
        seen = [(change, look) for look in families if (change := _change(look, departures))]
        change, look = min(seen, key=lambda pair: pair[0].chance, default=(None, None))
        # A step and a trend in each family.
        tested = 2 * len(families)
        if change is None or look is None or change.chance * tested >= FALSE_ALARM:
            break
        told.append(replace(change, chance=change.chance * tested))
        departures = _without(departures, look, change)
    return tuple(told)


@dataclass(frozen=True, slots=True)
class _Look:
    """A family's jobs in the order of their days. also: families of the other side met in the same jobs."""

    side: Side
    family: str
    also: tuple[str, ...]
    jobs: NDArray[np.int64]
    days: Floats


def _looks(found: Sequence[Found], ledger: Ledger) -> list[_Look]:
    days = np.array([math.nan if job.day is None else job.day for job in found])
    looks: list[_Look] = []
    for family in ledger.families:
        mine = np.array([job.family(family.side) == family.name for job in found])
        which = np.flatnonzero(mine & np.isfinite(days))
        which = which[np.argsort(days[which], kind="stable")]
        same = [k for k, one in enumerate(looks) if np.array_equal(one.jobs, which)]
        if same and looks[same[0]].side != family.side:
            first = looks[same[0]]
            looks[same[0]] = replace(first, also=(*first.also, family.name))
        else:
            looks.append(_Look(family.side, family.name, (), which, days[which]))
    return looks


def _change(look: _Look, departures: Floats) -> Change | None:
    """The likelier of a step and a trend, however it was seen: the wear of a tool looks like a step as well,
    and a step like wear."""
    mine = departures[look.jobs]
    if float(((mine - mine.mean(axis=0)) ** 2).sum()) == 0.0:
        return None
    seen = [one for one in (_step(look, mine), _trend(look, mine)) if one]
    if not seen:
        return None
    chance = min(change.chance for _, change in seen)
    first, *others = [change for _, change in sorted(seen, key=lambda one: -one[0])]
    return replace(first, chance=chance, other=others[0] if others else None)


def _without(departures: Floats, look: _Look, change: Change) -> Floats:
    """Departures with a change taken out."""
    rows = np.ones((len(look.jobs), 2))
    rows[:, 1] = look.days - look.days.mean() if change.day is None else look.days >= change.day
    out = departures.copy()
    mine = out[look.jobs]
    out[look.jobs] = mine - rows @ np.linalg.lstsq(rows, mine, rcond=None)[0]
    return out


def _step(look: _Look, departures: Floats) -> tuple[float, Change] | None:
    """The largest step, and how well any would do: log of the likelihood averaged over when it began, since
    when was not known beforehand (H. Jeffreys, Theory of Probability (1961), 5.0)."""
    n, days = len(departures), look.days
    splits = _splits(n)
    splits = splits[days[splits] > days[splits - 1]]
    if len(splits) == 0:
        return None
    gains = _gains(departures[:, None], splits)[:, 0]
    best = int(np.argmax(gains))
    k = int(splits[best])
    x, y = (departures[k:].mean(axis=0) - departures[:k].mean(axis=0)).tolist()
    total = float(((departures - departures.mean(axis=0)) ** 2).sum())
    share = float(gains[best]) / total
    beyond = int((_by_chance(_like(n)) >= float(_rarity(share, n))).sum())
    chance = (beyond + 1.0) / (_DRAWS + 1.0)
    day = float(days[k])
    every = _rarity(gains / total, n)
    likely = float(every.max()) + math.log(float(np.exp(every - every.max()).mean()))
    return likely, Change(look.side, look.family, "step", day, (x, y), chance, share, (k, n - k), look.also)


def _trend(look: _Look, departures: Floats) -> tuple[float, Change] | None:
    """The trend, and the log of its likelihood."""
    centred = look.days - look.days.mean()
    room = float(centred @ centred)
    if room == 0.0:
        return None
    slope = centred @ departures / room
    share = room * float(slope @ slope) / float(((departures - departures.mean(axis=0)) ** 2).sum())
    # With 2 degrees above, the F tail has a closed form.
    likely = float(_rarity(share, len(departures)))
    chance = math.exp(-likely)
    x, y = (slope * (look.days[-1] - look.days[0])).tolist()
    jobs = (0, len(departures))
    return likely, Change(look.side, look.family, "trend", None, (x, y), chance, share, jobs, look.also)


def _rarity(share: Floats | float, n: int) -> Floats:
    """-log of the chance that two degrees explain this share of the sum of squares of n vectors."""
    return np.asarray(-(n - 2) * np.log(np.maximum(1.0 - share, 1e-300)))


def _splits(n: int) -> "np.ndarray[tuple[int], np.dtype[np.int64]]":
    """The places where a step may begin, at most a hundred, evenly spread."""
    every = np.arange(_EACH_SIDE, n - _EACH_SIDE + 1)
    return every[np.unique(np.linspace(0, len(every) - 1, min(len(every), _MOST_SPLITS)).astype(np.int64))]


def _gains(departures: Floats, splits: "np.ndarray[tuple[int], np.dtype[np.int64]]") -> Floats:
    """What a step at each split explains of the sum of squares; departures (n, draws, 2), (splits, draws)."""
    n = len(departures)
    sums = np.cumsum(departures - departures.mean(axis=0), axis=0)[splits - 1]
    return np.asarray((sums**2).sum(axis=2) * (n / (splits * (n - splits)))[:, None])


def _like(n: int) -> int:
    """A number of jobs, of few, whose largest step is as rare: rarities hardly depend on it, and where there
    are more, those of more splits."""
    return min(math.ceil(math.pow(2.0, math.ceil(4.0 * math.log2(n)) / 4.0)), _MOST_LIKE)


@cache
def _by_chance(n: int) -> Floats:
    """Rarities of the largest step of n vectors where there is none, drawn."""
    rng = np.random.default_rng(n)
    splits, drawn_all = _splits(n), []
    batch = max(1, 100_000 // n)
    for start in range(0, _DRAWS, batch):
        drawn = rng.normal(size=(n, min(batch, _DRAWS - start), 2))
        total = ((drawn - drawn.mean(axis=0)) ** 2).sum(axis=(0, 2))
        drawn_all.append(_rarity(_gains(drawn, splits).max(axis=0) / total, n))
    return np.concatenate(drawn_all)
