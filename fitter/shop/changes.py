"""Did something change over time: a tool that wears (a trend), a new batch (a step)?

Looked for in each family by itself, in what the ledger cannot explain otherwise: every job's own
departure, in units of its own scatter. The largest step is judged against the largest step of pure
chance (a permutation-free Monte Carlo of standard normal departures at the same number of jobs, after
G. A. Barnard, J. R. Statist. Soc. B 25 (1963) 294), a trend by its F test, and all of them together
by Bonferroni's bound.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

import numpy as np

from ..numeric.basis import Floats
from .ledger import Found, Ledger, Side

FEWEST = 8
"""Jobs of a family below which nothing is looked for."""

FALSE_ALARM = 0.05
"""Chance of reporting any change in a shop in which nothing changes."""

_DRAWS = 20_000
_EACH_SIDE = 3
_MOST_SPLITS = 100


@dataclass(frozen=True, slots=True)
class Change:
    """kind: "step" (from `day` on) or "trend" (day: None). shift: mm, after less before, or over the whole
    time. chance: of one as large where nothing changes, all families looked at. explains: share of the
    family's departures, squared, that it accounts for; jobs: of the family, before `day` and since."""

    side: Side
    family: str
    kind: Literal["step", "trend"]
    day: float | None
    shift: tuple[float, float]
    chance: float
    explains: float
    jobs: tuple[int, int]


def changes(found: Sequence[Found], ledger: Ledger) -> tuple[Change, ...]:
    """Changes that chance hardly explains, likeliest first. Jobs without a day are left out."""
    departures = ledger.fitted.model.departures(ledger.fitted.sds)
    looked: list[Change] = []
    for family in ledger.families:
        which = [
            k
            for k, job in enumerate(found)
            if job.day is not None
            and (job.block_family if family.side == "block" else job.housing_family) == family.name
        ]
        if len(which) < FEWEST:
            continue
        days = np.array([found[k].day for k in which], dtype=np.float64)
        order = np.argsort(days, kind="stable")
        at, sizes = days[order], departures[np.array(which)[order]]
        looked += _step(family.side, family.name, at, sizes)
        looked += _trend(family.side, family.name, at, sizes)
    tested = max(len(looked), 1)
    told = [replace(c, chance=min(1.0, c.chance * tested)) for c in looked if c.chance * tested < FALSE_ALARM]
    return tuple(sorted(told, key=lambda c: c.chance))


def _step(side: Side, family: str, days: Floats, departures: Floats) -> list[Change]:
    n = len(days)
    splits = _splits(n)
    splits = splits[days[splits] > days[splits - 1]]
    if len(splits) == 0:
        return []
    gains = _gains(departures[None], splits)[0]
    best = int(np.argmax(gains))
    total = float(((departures - departures.mean(axis=0)) ** 2).sum())
    k = int(splits[best])
    shift = departures[k:].mean(axis=0) - departures[:k].mean(axis=0)
    chance = float((_by_chance(n) >= gains[best] / total).sum() + 1.0) / (_DRAWS + 1.0)
    moved = (float(shift[0]), float(shift[1]))
    share = float(gains[best]) / total
    return [Change(side, family, "step", float(days[k]), moved, chance, share, (k, n - k))]


def _trend(side: Side, family: str, days: Floats, departures: Floats) -> list[Change]:
    centred = days - days.mean()
    room = float(centred @ centred)
    if room == 0.0:
        return []
    slope = centred @ departures / room
    explained = room * float(slope @ slope)
    rest = float(((departures - departures.mean(axis=0)) ** 2).sum()) - explained
    freedom = 2 * (len(days) - 2)
    # With 2 degrees above, the F tail has a closed form.
    chance = float((1.0 + explained / max(rest, 1e-300)) ** (-freedom / 2.0))
    whole = slope * (days[-1] - days[0])
    moved = (float(whole[0]), float(whole[1]))
    share = explained / max(explained + rest, 1e-300)
    return [Change(side, family, "trend", None, moved, chance, share, (0, len(days)))]


def _splits(n: int) -> "np.ndarray[tuple[int], np.dtype[np.int64]]":
    """The places where a step may begin, at most a hundred, evenly spread."""
    every = np.arange(_EACH_SIDE, n - _EACH_SIDE + 1)
    return every[np.unique(np.linspace(0, len(every) - 1, min(len(every), _MOST_SPLITS)).astype(np.int64))]


def _gains(departures: Floats, splits: "np.ndarray[tuple[int], np.dtype[np.int64]]") -> Floats:
    """What a step at each split explains of the sum of squares; departures (draws, n, 2)."""
    n = departures.shape[1]
    sums = np.cumsum(departures - departures.mean(axis=1, keepdims=True), axis=1)[:, splits - 1]
    return np.asarray((sums**2).sum(axis=2) * (n / (splits * (n - splits))))


@cache
def _by_chance(n: int) -> Floats:
    """Share of the sum of squares that the largest step explains where there is none, drawn."""
    rng = np.random.default_rng(n)
    splits, shares = _splits(n), []
    batch = max(1, 200_000 // n)
    for start in range(0, _DRAWS, batch):
        drawn = rng.normal(size=(min(batch, _DRAWS - start), n, 2))
        total = ((drawn - drawn.mean(axis=1, keepdims=True)) ** 2).sum(axis=(1, 2))
        shares.append(_gains(drawn, splits).max(axis=1) / total)
    return np.concatenate(shares)
