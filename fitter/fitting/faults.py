"""Stations that do not belong, and knocks of the rig: found, sized and named.

Each suspicion is a column added to the model (one station apart, or everything after a moment
apart); the one that explains most is accepted if chance would hardly ever do as well, and the
search goes on without that station. Rules out by F test with Bonferroni's bound over all suspicions
looked at, after R. D. Cook and S. Weisberg, Residuals and Influence in Regression (1982), 2.2.2.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..errors import TooFewStations
from ..geometry import clock
from ..numeric.basis import Floats
from ..numeric.quantiles import t_below
from ..reading.stations import Stations
from ..result import Looks, Outlier, Step
from ..units import MM_PER_INCH, MM_PER_THOU
from .model import harmonic_design, supported_harmonics

FALSE_ALARM = 0.016
"""Bound of the chance that anything of one kind is accused in a sweep in which nothing is wrong; of all kinds
together it came to 1.0 to 1.4 in 100 (tests/bench/faults.py)."""

WORTH_NAMING_MM = 0.5 * MM_PER_THOU
"""Faults below half a thou change no decision and are left in (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Faults:
    """outliers: index and finding of each bad station. step_at: index of the first station after a knock, or
    None; step_likely: how likely there was one, where that is known."""

    outliers: tuple[tuple[int, Outlier], ...] = ()
    step_at: int | None = None
    step_likely: float | None = None


@dataclass(frozen=True, slots=True)
class _Suspicion:
    """One way in which a sweep may be wrong.

    harmonics: of the model it was seen with.
    chance: that nothing is wrong and something looks as bad as this.
    at, size: the station apart, or the first one after a knock.
    """

    harmonics: int
    chance: float
    at: int
    size: float
    is_step: bool = False


def find(
    stations: Stations, extras: list[Floats], neighbours: float = 0.0, drifts: Sequence[Floats] = ()
) -> Faults:
    """Look for bad stations and one knock. extras: further columns of the model, (n,) each;
    neighbours: correlation of neighbouring stations, which makes knocks look commoner. drifts: columns
    of steady drifts that the model does not hold: a fault must explain the sweep far better than one of
    those, else that drift is believed and the search goes on beside it."""
    kept = np.arange(len(stations))
    bad: list[tuple[int, Outlier]] = []
    most = max(1, len(stations) // 5)
    columns, alternatives = list(extras), list(drifts)
    while len(bad) < most:
        left, here = stations.take(kept), [column[kept] for column in columns]
        worst = _worst(left, here, neighbours)
        if worst is None:
            break
        believed = _drift_instead(left, here, worst, [drift[kept] for drift in alternatives])
        if believed is not None:
            columns.append(alternatives[believed])
            alternatives = []
            continue
        at = int(kept[worst.at])
        if worst.is_step:
            return Faults(tuple(bad), step_at=at)
        bad.append((at, _name(stations, at, worst.size)))
        kept = np.delete(kept, worst.at)
    return Faults(tuple(bad))


def named(stations: Stations, bad: Mapping[int, float], step: tuple[int, float] | None) -> Faults:
    """Faults that were found otherwise, with what the bad stations look like beside the others. None where
    what they leave carries no circle. bad, step: where each is, and how likely."""
    step_at, step_likely = step or (None, None)
    kept = np.setdiff1d(np.arange(len(stations)), list(bad))
    after = (np.arange(len(stations)) >= (len(stations) if step_at is None else step_at)).astype(np.float64)
    extras = [] if step_at is None else [after]
    left = stations.take(kept)
    try:
        harmonics = supported_harmonics(left, len(extras))
    except TooFewStations:
        return Faults()
    size = np.linalg.lstsq(
        harmonic_design(left, harmonics, [column[kept] for column in extras]), left.value, rcond=None
    )[0]
    expected = harmonic_design(stations, harmonics, extras) @ size
    return Faults(
        tuple(
            (at, replace(_name(stations, at, float(stations.value[at] - expected[at])), probability=likely))
            for at, likely in bad.items()
        ),
        step_at,
        step_likely,
    )


def step_finding(stations: Stations, at: int, size: float, likely: float | None) -> Step:
    """The knock as it is reported."""
    return Step(
        size=size,
        after_deg=float(stations.deg[at - 1]),
        before_deg=float(stations.deg[at]),
        t=float((stations.t[at - 1] + stations.t[at]) / 2.0),
        probability=likely,
    )


def _worst(stations: Stations, extras: list[Floats], neighbours: float) -> _Suspicion | None:
    """The suspicion that chance explains least, if it hardly can. With all harmonics that there are: between
    sectors every lobe that is left out would look like a knock."""
    try:
        view = _View.of(stations, supported_harmonics(stations, len(extras)), extras)
    except TooFewStations:
        return None
    worst = view.alone(neighbours)
    if worst is None or worst.chance >= FALSE_ALARM or abs(worst.size) <= WORTH_NAMING_MM:
        return None
    return worst


@dataclass(frozen=True, slots=True)
class _View:
    """A sweep seen through a model of so many harmonics.

    Q: orthonormal columns of the model.
    total: sum of squares of the residual.
    """

    harmonics: int
    Q: Floats
    residual: Floats
    total: float

    @classmethod
    def of(cls, stations: Stations, harmonics: int, extras: list[Floats]) -> "_View":
        Q, _ = np.linalg.qr(harmonic_design(stations, harmonics, extras))
        residual = stations.value - Q @ (Q.T @ stations.value)
        return cls(harmonics, Q, residual, float(residual @ residual))

    def alone(self, neighbours: float) -> _Suspicion | None:
        """One station apart, or everything from the k-th on, in order of time.

        A knock next to an end is a bad end station: the steps begin after two."""
        n = len(self.residual)
        freedom = n - self.Q.shape[1] - 1
        if freedom < 2:
            return None
        steps = slice(2, n - 1)
        tail = np.cumsum(self.Q[::-1], axis=0)[::-1]
        looked_at = (
            (False, self.residual, 1.0 - (self.Q * self.Q).sum(axis=1)),
            (
                True,
                np.cumsum(self.residual[::-1])[::-1][steps],
                (np.arange(n, 0, -1) - (tail * tail).sum(axis=1))[steps],
            ),
        )
        count = sum(len(seen) for _, seen, _ in looked_at)
        suspicions = []
        for is_step, seen, room in looked_at:
            # A column that the model already holds can explain nothing.
            usable = room > 1e-6
            size = np.divide(seen, room, out=np.zeros_like(seen), where=usable)
            gain = np.where(usable, seen * size, 0.0)
            if len(gain) == 0:
                continue
            at = int(np.argmax(gain))
            rest = self._rest(float(gain[at]))
            if rest == 0.0:
                return None
            inflation = (1.0 + neighbours) / (1.0 - neighbours) if is_step else 1.0
            t = math.sqrt(float(gain[at]) * freedom / rest / inflation)
            chance = count * 2.0 * float(t_below(np.array(-t), freedom))
            suspicions.append(
                _Suspicion(self.harmonics, chance, at + 2 if is_step else at, float(size[at]), is_step)
            )
        return min(suspicions, key=lambda s: s.chance, default=None)

    def _rest(self, gain: float) -> float:
        """What a suspicion leaves unexplained; rounding may make it nothing."""
        return max(self.total - gain, 1e-12 * self.total)

    def with_columns(self, columns: Floats) -> float:
        """Sum of squares that further columns, shape (n, k), would leave unexplained."""
        news = columns - self.Q @ (self.Q.T @ columns)
        size, *_ = np.linalg.lstsq(news, self.residual, rcond=1e-6)
        rest = self.residual - news @ size
        return float(rest @ rest)


def _drift_instead(
    stations: Stations, extras: list[Floats], worst: _Suspicion, drifts: list[Floats]
) -> int | None:
    """Which drift explains the sweep nearly as well as a suspicion does, if any."""
    if not drifts:
        return None
    n = len(stations)
    suspected = np.zeros((n, 1))
    suspected[worst.at : n if worst.is_step else worst.at + 1] = 1.0
    view = _View.of(stations, worst.harmonics, extras)
    left = [view.with_columns(drift[:, None]) for drift in drifts]
    # Twice the log likelihood ratio of two models of one size is n log of the residual sums' ratio.
    far_better = (2.0 * n / FALSE_ALARM) ** (2.0 / n)
    best = int(np.argmin(left))
    return best if left[best] < view.with_columns(suspected) * far_better else None


def _name(stations: Stations, index: int, residual: float) -> Outlier:
    """What a bad station looks like: its reading, set right in one of the usual ways, would fit."""
    value = float(stations.value[index])
    expected = value - residual
    near = 0.1 * abs(residual)
    deg = float(stations.deg[index])
    like: Looks = "high" if residual > 0.0 else "low"
    slips: tuple[tuple[Looks, float], ...] = (
        ("sign", -value),
        ("unit", value * MM_PER_INCH),
        ("unit", value / MM_PER_INCH),
        ("point", value * 10.0),
        ("point", value / 10.0),
    )
    slip, right = min(slips, key=lambda entry: abs(entry[1] - expected))
    if abs(right - expected) < near and abs(value) > near:
        like = slip
    elif index and abs(value - float(stations.value[index - 1])) < near:
        like = "unmoved"
    return Outlier(deg=deg, clock=clock(deg), residual=residual, weight=0.0, like=like)
