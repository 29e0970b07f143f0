"""Errors that a sweep with these stations cannot show, and how much uncertainty is allowed for each.

Some errors look exactly like an offset: a form of N-1 or N+1 lobes under N even stations, a drift in a
sweep that reads nothing twice, a dial that lags while it is turned one way only, a 12 o'clock that is
not at 12. No residual shows them. Which of them a sweep is blind to follows from its geometry alone;
how large they are has to be stated beforehand, and of form and drift is the model's (`fitter.mixture`). A rig
that does worse shows only in another sweep, so the result says which sweep that would be.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from ..fitting.late import column
from ..fitting.model import Fit
from ..fitting.together import Sweep
from ..mixture.views import Effects
from ..numeric.basis import Floats
from ..reading.setup import Setup
from ..reading.sources import Source
from ..reading.stations import Stations
from ..units import MM_PER_THOU
from .amount import BEND

NAMED_LOBES = 7
"""Up to here lobes are spoken of: with 8 stations 7 may hide, with 9 or more nothing that matters."""

ARC_GAP_DEG = 120.0
"""A sweep with a larger gap than this is an arc."""

_HIDDEN = 0.1
"""Share of its own size that a form may leave in the residuals and still count as unseen."""

_MATTERS = 0.1
"""An error of one unit that moves the vector by this much is worth another turn: one turn in order
lets a third of a steady drift through and four tenths of one that comes back, two turns next to nothing."""


@dataclass(frozen=True, slots=True)
class Unseen:
    """What does not show in a sweep.

    lobes: numbers of lobes.
    drift: a wandering dial or rig.
    closed: if it comes back at the end.
    lag: a dial, rig or encoder that drags.
    on_deg: degrees by which another turn must be shifted to see the lobes, None without lobes.
    gap_mm: by how much the dial was seen to read differently moving in and out, where turns both ways show
        it, else 0.
    turning: of the delay's covariance, what only turns the vector: its length is as sure without.
    late_deg: by how far a delay of the dial may have turned the vector, standard uncertainty.
    parts: source and covariance of (x, y), mm^2, of each allowance.
    """

    lobes: tuple[int, ...]
    drift: bool
    closed: bool
    lag: bool
    on_deg: float | None
    gap_mm: float
    parts: tuple[tuple[str, Floats], ...]
    late_deg: float = 0.0
    turning: Floats = field(default_factory=lambda: np.zeros((2, 2)))

    @property
    def allowed_mm(self) -> float:
        """Standard uncertainty of a component of the vector that is allowed for all but zero and delay."""
        parts = [part for source, part in self.parts if source not in (Source.ZERO, Source.DELAY)]
        return math.sqrt(sum(float(np.trace(part)) for part in parts) / 2.0)


_BOTH_WAYS = 4
"""Stations each way from which a lag is looked for."""

_TELLING, _TIED = 3.0, 3.0
"""Standard deviations from which a lag is told, and how many times more for tied sectors."""

LEAST_GAP_MM = 0.2 * MM_PER_THOU
"""A dial in order reads a tenth of a thou differently in and out: twice that is worth a word."""


def unseen(setup: Setup, stations: Stations, fit: Fit, sweeps: Sequence[Sweep], effects: Effects) -> Unseen:
    """What hides in one fit of one sweep or several. effects: of form and drift, as large as the model has
    them."""
    towards = (fit.unscaled @ fit.design.T)[[2, 1]]
    lobes = _hidden_lobes(stations, fit, towards)
    slope = stations.slope(fit.coefficients[: 1 + 2 * fit.harmonics])
    # What lags is right when the crank has turned far enough one way: which way it lags is known, how
    # much is anything up to the allowance, hence the square root of 3 (JCGM 100:2008, 4.3.7).
    behind = np.sign(slope * stations.sense) / 2.0
    lag = towards @ behind / math.sqrt(3.0)
    apart, told = _gap(stations, fit, behind)
    gap = apart if told else 0.0
    first = np.array(fit.harmonic(1)[::-1])
    # What follows from behind may turn back before it has come to the crests, whichever way the crank
    # turns: by nothing up to half of what in and out lie apart.
    cut = apart / 2.0 / math.sqrt(3.0) * first / max(math.hypot(*first), 1e-12)
    lost = towards @ (slope * stations.sense * math.radians(setup.lost_motion_deg) / math.sqrt(3.0))
    turned, late, turning = _late(setup.delay_sd_s * (towards @ column(stations, slope)), first)
    zero = towards @ (slope * math.radians(setup.zero_sd_deg))
    # A vector that turns far also falls short of its tangent, by half the square of the turn.
    short = BEND * math.radians(setup.zero_sd_deg) ** 2 * first
    parts = (
        (Source.FORM_HIDDEN, effects.form),
        (Source.DRIFT_HIDDEN, effects.drift),
        (Source.HYSTERESIS, max(setup.hysteresis_mm, math.sqrt(3.0) * gap) ** 2 * np.outer(lag, lag)),
        (Source.SHORT, np.outer(cut, cut)),
        (Source.LOST_MOTION, np.outer(lost, lost)),
        (Source.DELAY, late),
        (Source.ZERO, np.outer(zero, zero) + np.outer(short, short)),
    )
    return Unseen(
        lobes=lobes,
        drift=_drifts(stations, towards, sweeps) > _MATTERS,
        closed=all(sweep.share is not None for sweep in sweeps),
        lag=math.hypot(*lag) > 2.0 * _MATTERS,
        on_deg=float(np.median(stations.gaps())) / 2.0 if lobes else None,
        gap_mm=gap,
        late_deg=math.degrees(turned),
        turning=turning,
        parts=parts,
    )


def _late(shift: Floats, first: Floats) -> tuple[float, Floats, Floats]:
    """By how much a delay that shifts the vector `first` by so much turns it, radians; its covariance, and
    what of that is turning alone: a steady crank carries all readings on by one angle and lengthens none."""
    length = max(math.hypot(*first), 1e-12)
    along = float(shift @ first) / length
    turned = math.sqrt(max(float(shift @ shift) - along**2, 0.0)) / length
    short = BEND * turned**2 * first
    late = np.outer(shift, shift) + np.outer(short, short)
    return turned, late, late - np.outer(first, first) * (along / length) ** 2


def _hidden_lobes(stations: Stations, fit: Fit, towards: Floats) -> tuple[int, ...]:
    """Numbers of lobes that leak into the vector without a trace. Of an arc every form hides, and between the
    sectors of a sweep that did not stop none."""
    if stations.continuous or stations.largest_gap() > ARC_GAP_DEG:
        return ()
    lobes = []
    for order in range(fit.harmonics + 1, NAMED_LOBES + 1):
        wave, shares = _wave(stations, fit, order)
        leak = towards @ wave[:, shares < _HIDDEN * len(stations) / 2.0]
        if float((leak * leak).sum()) >= _HIDDEN:
            lobes.append(order)
    return tuple(lobes)


def _wave(stations: Stations, fit: Fit, order: int) -> tuple[Floats, Floats]:
    """A form of `order` lobes in two phases a quarter of a lobe apart, shape (n, 2), turned so that the
    residuals see least of the one and most of the other; and the sums of squares that they see, (2,)."""
    rad = np.deg2rad(stations.deg)
    wave = np.column_stack([np.cos(order * rad), np.sin(order * rad)])
    rest = wave - fit.design @ (fit.unscaled @ (fit.design.T @ wave))
    shares, turned = np.linalg.eigh(rest.T @ rest)
    return wave @ turned, shares


def _drifts(stations: Stations, towards: Floats, sweeps: Sequence[Sweep]) -> float:
    """By how much a drift of one unit in every sweep moves the vector: a steady one, where it was not
    taken out, or one that comes back."""
    steady, back = np.zeros(2), np.zeros(2)
    for sweep in sweeps:
        t, lift = stations.t[sweep.rows], towards[:, sweep.rows]
        pace = sweep.share if sweep.share is not None else (t - t[0]) / max(float(t[-1] - t[0]), 1e-9)
        back += lift @ np.sin(math.pi * pace)
        if sweep.share is None:
            steady += lift @ pace
    return max(math.hypot(*steady), math.hypot(*back))


def _gap(stations: Stations, fit: Fit, behind: Floats) -> tuple[float, bool]:
    """By how much the dial reads differently moving in and out, mm, as the residuals of turns both ways
    have it, and whether they tell; 0 where they cannot. behind: half a unit of it at each station."""
    if min((stations.sense > 0).sum(), (stations.sense < 0).sum()) < _BOTH_WAYS or fit.freedom < 3:
        return 0.0, False
    rest = behind - fit.design @ (fit.unscaled @ (fit.design.T @ behind))
    room = float(rest @ rest)
    if room <= _HIDDEN * float(behind @ behind):
        return 0.0, False
    # It follows the surface from behind: low while the reading rises.
    gap = -float(rest @ fit.residuals) / room
    scatter = max(fit.residual_sum - gap * gap * room, 0.0) / (fit.freedom - 1)
    # Neighbouring sectors err together, so that more is asked of them.
    telling = _TELLING * (_TIED if stations.continuous else 1.0)
    return max(gap, 0.0), gap > telling * math.sqrt(scatter / room) and gap > LEAST_GAP_MM
