"""The columns of the model for one sweep or several of one surface: what is flat, what has a size beforehand,
and what may be suspected."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats, harmonic_rows
from ..reading.stations import SAME_ANGLE_DEG, Stations
from ..units import MM_PER_THOU
from . import priors

_EACH_WAY = 3
"""Stations in each sense from which these may read differently."""

_SENSE_MM = 5.0 * MM_PER_THOU
"""How differently a dial may read in the two senses: as good as flat."""

_BEHIND_MM = 0.5 * MM_PER_THOU
"""How differently it may read moving in and out (common practice, no source)."""

_BACK, _WALKS_BACK = 0.2, math.sqrt(2.0) / math.pi
"""What comes back by itself is the smaller part of a drift that nobody measured (a judgement, no source); a
random walk has so much of it in its first sine wave."""

_LEAST_FOR_FAULTS = 5


@dataclass(frozen=True, slots=True)
class Suspect:
    """A reading apart, or all of a sweep from it on (`knock`): sweep, and row in it; chance beforehand."""

    sweep: int
    row: int
    knock: bool
    chance: float


@dataclass(frozen=True, slots=True)
class Layout:
    """Rows of all sweeps, one after another.

    flat: a mean for each sweep, then cos and sin of the first harmonic, (n, q).
    oval, form, drift, sense: columns of each group, (n, ...).
    shares: the size of each column of form beside those of three lobes.
    suspects, suspected: what each is, and its column, (n, h).
    """

    flat: Floats
    oval: Floats
    form: Floats
    shares: Floats
    drift: Floats
    sense: Floats
    suspects: tuple[Suspect, ...]
    suspected: Floats


def layout(sweeps: Sequence[Stations], *, walks: bool = False) -> Layout:
    """The columns of sweeps of one surface. walks: of a drift of which a standard deviation is known."""
    n = sum(map(len, sweeps))
    basis = harmonic_rows(np.concatenate([sweep.deg for sweep in sweeps]), priors.ORDERS[-1])
    starts = np.cumsum([0, *map(len, sweeps)])[:-1].tolist()

    def placed(columns: list[Floats], start: int) -> Floats:
        whole = np.zeros((n, len(columns)))
        for k, column in enumerate(columns):
            whole[start : start + len(column), k] = column
        return whole

    means = [placed([np.ones(len(sweep))], start) for sweep, start in zip(sweeps, starts, strict=True)]
    drifts = [
        placed(_drifts(sweep, _WALKS_BACK if walks else _BACK), start)
        for sweep, start in zip(sweeps, starts, strict=True)
    ]
    senses = [placed(_senses(sweep), start) for sweep, start in zip(sweeps, starts, strict=True)]
    shares = np.repeat([priors.shape(k) for k in priors.ORDERS[1:]], 2)
    places = {round(float(deg) / SAME_ANGLE_DEG) % 360 for sweep in sweeps for deg in sweep.deg}
    suspects = _suspects([len(sweep) for sweep in sweeps], checked=len(places) < n)
    suspected = np.zeros((n, len(suspects)))
    for k, one in enumerate(suspects):
        at = starts[one.sweep] + one.row
        suspected[at : starts[one.sweep] + len(sweeps[one.sweep]) if one.knock else at + 1, k] = 1.0
    return Layout(
        flat=np.column_stack([*means, basis[:, 1:3]]),
        oval=basis[:, 3:5],
        form=basis[:, 5:],
        shares=shares,
        drift=np.column_stack(drifts),
        sense=np.column_stack(senses),
        suspects=suspects,
        suspected=suspected,
    )


def _drifts(sweep: Stations, back: float) -> list[Floats]:
    """A steady drift and one that settles, each half of the variance, and one that comes back."""
    span = float(sweep.t[-1] - sweep.t[0])
    s = (sweep.t - sweep.t[0]) / span if span > 0.0 else np.linspace(0.0, 1.0, len(sweep))
    return [np.sqrt(0.5) * s, np.sqrt(0.5) * (1.0 - np.exp(-4.0 * s)), back * np.sin(np.pi * s)]


def _senses(sweep: Stations) -> list[Floats]:
    """What turns both ways add: a reading that differs by the sense, and one that follows from behind."""
    if min((sweep.sense > 0).sum(), (sweep.sense < 0).sum()) < _EACH_WAY:
        return []
    _, a, b = np.linalg.lstsq(sweep.basis[:, :3], sweep.value, rcond=None)[0]
    slope = b * sweep.basis[:, 1] - a * sweep.basis[:, 2]
    return [sweep.sense / 2.0 * _SENSE_MM, np.sign(slope * sweep.sense) / 2.0 * _BEHIND_MM]


def _suspects(lengths: Sequence[int], *, checked: bool) -> tuple[Suspect, ...]:
    """A knock next to an end is a bad end station: they begin after two. checked: a place was read twice."""
    if sum(lengths) < _LEAST_FOR_FAULTS:
        return ()
    knocks = [(k, j) for k, n in enumerate(lengths) for j in range(2, n - 1)]
    readings = [(k, j) for k, n in enumerate(lengths) for j in range(n)]
    return tuple(
        Suspect(k, j, knock, chance / len(places))
        for chance, places, knock in (
            (priors.KNOCK.chance * (1.0 if checked else priors.KNOCK_UNCHECKED), knocks, True),
            (priors.BAD.chance, readings, False),
        )
        for k, j in places
    )
