"""The columns of the model for one sweep or several of one surface: what is flat, what has a size beforehand,
and what may be suspected (`fitter.mixture.suspects`)."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats, harmonic_rows, in_blocks
from ..reading.stations import MOST_HARMONICS, SECTORS, Stations
from ..units import MM_PER_THOU
from . import priors
from .suspects import Suspect, suspects

_EACH_WAY = 3
"""Stations in each sense from which these may read differently."""

_SENSE_MM = 5.0 * MM_PER_THOU
"""How differently a dial may read in the two senses: as good as flat."""

_BEHIND_MM = 0.5 * MM_PER_THOU
"""How differently it may read moving in and out (common practice, no source)."""

_BACK, _WALKS_BACK = 0.2, math.sqrt(2.0) / math.pi
"""What comes back by itself is the smaller part of a drift that nobody measured (a judgement, no source); a
random walk has so much of it in its first sine wave."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Rows of all sweeps, one after another.

    flat: a mean for each sweep, then cos and sin of the first harmonic, (n, q).
    oval, form, drift, wander, sense: columns of each group, (n, ...); of the last two for one standard
    deviation. shares: the size of each column of form beside those of three lobes.
    suspects, suspected: what each is, and its column, (n, h).
    """

    flat: Floats
    oval: Floats
    form: Floats
    shares: Floats
    drift: Floats
    wander: Floats
    sense: Floats
    suspects: tuple[Suspect, ...]
    suspected: Floats

    def sized(self, late: Floats) -> Floats:
        """All columns that have a size beforehand, as a grid has their variances, (n, p). late: those of what
        a late dial adds."""
        return np.column_stack([self.oval, self.form, self.drift, self.wander, self.sense, late])

    @property
    def of_form(self) -> int:
        """How many of these are form; those of drift come next."""
        return int(self.oval.shape[1] + self.form.shape[1])


def layout(sweeps: Sequence[Stations], *, walks: bool = False, wander: Sequence[float] = ()) -> Layout:
    """The columns of sweeps of one surface. walks: of a drift of which a standard deviation is known.
    wander: by how much each dial goes for a walk in the sweep, mm."""
    basis = harmonic_rows(np.concatenate([sweep.deg for sweep in sweeps]), priors.ORDERS[-1])
    basis[:, : 1 + 2 * MOST_HARMONICS] = np.concatenate([sweep.basis for sweep in sweeps])
    lengths = [len(sweep) for sweep in sweeps]
    means = in_blocks(lengths, [[1.0] for _ in sweeps])
    drift = in_blocks(lengths, (_drifts(sweep, _WALKS_BACK if walks else _BACK) for sweep in sweeps))
    sense = in_blocks(lengths, map(_senses, sweeps))
    shares = np.repeat([priors.shape(k) for k in priors.ORDERS[1:]], 2)
    sound = np.column_stack([means, basis[:, 1:], drift, sense])
    all_of = suspects(sweeps, sound, np.concatenate([sweep.value for sweep in sweeps]))
    ends = np.cumsum([0, *lengths]).tolist()
    return Layout(
        flat=np.column_stack([means, basis[:, 1:3]]),
        oval=basis[:, 3:5],
        form=basis[:, 5:],
        shares=shares,
        drift=drift,
        wander=in_blocks(lengths, map(_wanders, sweeps, wander)),
        sense=sense,
        suspects=all_of,
        suspected=np.column_stack([np.zeros((ends[-1], 0)), *(one.column(ends) for one in all_of)]),
    )


def _drifts(sweep: Stations, back: float) -> list[Floats]:
    """A steady drift and one that settles, each half of the variance, and one that comes back."""
    span = float(sweep.t[-1] - sweep.t[0])
    s = (sweep.t - sweep.t[0]) / span if span > 0.0 else np.linspace(0.0, 1.0, len(sweep))
    return [np.sqrt(0.5) * s, np.sqrt(0.5) * (1.0 - np.exp(-4.0 * s)), back * np.sin(np.pi * s)]


def _wanders(sweep: Stations, size: float) -> list[Floats]:
    """Those of the sine waves of a random walk that pass for an offset of a sweep which does not stop: its
    other errors are too small to hold them."""
    span = float(sweep.t[-1] - sweep.t[0])
    if not (sweep.continuous and size > 0.0 and span > 0.0):
        return []
    s = (sweep.t - sweep.t[0]) / span
    half_waves = round(2.0 * len(sweep) / SECTORS)
    orders = range(max(half_waves - 1, 2), max(half_waves, 2) + 2)
    return [size * _WALKS_BACK / k * np.sin(k * np.pi * s) for k in orders]


def _senses(sweep: Stations) -> list[Floats]:
    """What turns both ways add: a reading that differs by the sense, and one that follows from behind."""
    if min((sweep.sense > 0).sum(), (sweep.sense < 0).sum()) < _EACH_WAY:
        return []
    # Between stations the circle tells which way the reading goes, between sectors all that is known of
    # the form.
    orders = MOST_HARMONICS if sweep.continuous else 1
    columns = sweep.basis[:, : 1 + 2 * orders]
    slope = sweep.slope(np.asarray(np.linalg.lstsq(columns, sweep.value, rcond=None)[0]))
    return [sweep.sense / 2.0 * _SENSE_MM, np.sign(slope * sweep.sense) / 2.0 * _BEHIND_MM]
