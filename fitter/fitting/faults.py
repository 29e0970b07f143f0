"""Stations that do not belong, and knocks of the rig: found, sized and named.

Each suspicion is a column added to the model (one station apart, or everything after a moment
apart); the one that explains most is accepted if chance would hardly ever do as well, and the
search goes on without that station. Rules out by F test with Bonferroni's bound over all suspicions
looked at, after R. D. Cook and S. Weisberg, Residuals and Influence in Regression (1982), 2.2.2.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

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

_MOST_FOR_PAIRS = 40

_LEAST_ROOM = 4
"""Degrees of freedom beside two faults that a model must leave, where another leaves more."""

_PLAINLY = 0.001
"""An oval is plain if chance would hardly ever make one of this size."""


@dataclass(frozen=True, slots=True)
class Faults:
    """outliers: index and finding of each bad station. step: index of the first station after a knock,
    or None."""

    outliers: tuple[tuple[int, Outlier], ...] = ()
    step_at: int | None = None


@dataclass(frozen=True, slots=True)
class _Suspicion:
    """One way in which a sweep may be wrong.

    harmonics: of the model it was seen with.
    chance: that nothing is wrong and something looks as bad as this.
    at, sizes: the stations apart, or the first one after a knock.
    """

    harmonics: int
    chance: float
    at: tuple[int, ...]
    sizes: tuple[float, ...]
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
        worst = _worst(left, here, neighbours, pairs=len(bad) + 2 <= most)
        if worst is None:
            break
        believed = _drift_instead(left, here, worst, [drift[kept] for drift in alternatives])
        if believed is not None:
            columns.append(alternatives[believed])
            alternatives = []
            continue
        if worst.is_step:
            return Faults(tuple(bad), step_at=int(kept[worst.at[0]]))
        for at, size in zip(worst.at, worst.sizes, strict=True):
            bad.append((int(kept[at]), _name(stations, int(kept[at]), size)))
        kept = np.delete(kept, worst.at)
    return Faults(tuple(bad))


def step_finding(stations: Stations, at: int, size: float) -> Step:
    """The knock as it is reported."""
    return Step(
        size=size,
        after_deg=float(stations.deg[at - 1]),
        before_deg=float(stations.deg[at]),
        t=float((stations.t[at - 1] + stations.t[at]) / 2.0),
    )


def _orders(stations: Stations, extras: int) -> tuple[int, ...]:
    """Harmonics to search with. All that stopped stations can carry take the room in which a fault would
    show, so a plain circle and an oval are tried as well. Sectors have room enough, and between them
    every lobe that is left out would look like a knock."""
    try:
        supported = supported_harmonics(stations, extras)
    except TooFewStations:
        return ()
    return (supported,) if stations.continuous else tuple(sorted({1, min(2, supported), supported}))


def _worst(stations: Stations, extras: list[Floats], neighbours: float, *, pairs: bool) -> _Suspicion | None:
    """The suspicion that chance explains least, if it hardly can."""
    one: _Suspicion | None = None
    two: _Suspicion | None = None
    views = _telling([_View.of(stations, harmonics, extras) for harmonics in _orders(stations, len(extras))])
    # The false alarms are shared out among the models, most to those that have the room to see a fault.
    for view in views:
        share = FALSE_ALARM * view.room / max(sum(other.room for other in views), 1)
        one = _less_likely(one, view.alone(neighbours), share)
        if pairs and len(stations) <= _MOST_FOR_PAIRS:
            two = _less_likely(two, view.pair(), share)
    # The second of a pair must earn its place, as if the first one had been found before.
    if two is not None and two.chance < (FALSE_ALARM * one.chance if one is not None else 1.0):
        return two
    return one


def _telling(views: list["_View"]) -> list["_View"]:
    """The models that are worth a share of the false alarms: a circle is none in a bore that is plainly oval,
    nor is one so full of form that a fault could hardly show."""
    seeing = [view for view in views if view.room >= _LEAST_ROOM] or views
    if [view.harmonics for view in seeing[:2]] != [1, 2]:
        return seeing
    circle, oval = seeing[:2]
    # Two columns more: the F tail has a closed form.
    by_chance = (oval.total / circle.total) ** ((oval.room + 2) / 2.0) if circle.total > 0.0 else 1.0
    return seeing[1:] if by_chance < _PLAINLY else seeing


def _less_likely(best: _Suspicion | None, other: _Suspicion | None, below: float) -> _Suspicion | None:
    if other is None or other.chance >= below or min(map(abs, other.sizes)) <= WORTH_NAMING_MM:
        return best
    return other if best is None or other.chance < best.chance else best


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

    @property
    def room(self) -> int:
        """Degrees of freedom that are left beside two faults."""
        return max(len(self.residual) - int(self.Q.shape[1]) - 2, 0)

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
                _Suspicion(self.harmonics, chance, (at + 2 if is_step else at,), (float(size[at]),), is_step)
            )
        return min(suspicions, key=lambda s: s.chance, default=None)

    def pair(self) -> _Suspicion | None:
        """Two bad stations that hide each other, such as a low one opposite a high one."""
        n = len(self.residual)
        freedom = n - self.Q.shape[1] - 2
        if freedom < 2:
            return None
        keep = np.eye(n) - self.Q @ self.Q.T
        i, j = np.triu_indices(n, 1)
        ii, jj, ij = keep[i, i], keep[j, j], keep[i, j]
        determinant = ii * jj - ij * ij
        usable = determinant >= 1e-6
        determinant = np.where(usable, determinant, 1.0)
        ri, rj = self.residual[i], self.residual[j]
        size_i, size_j = (jj * ri - ij * rj) / determinant, (ii * rj - ij * ri) / determinant
        gain = np.where(usable, ri * size_i + rj * size_j, 0.0)
        best = int(np.argmax(gain))
        rest = self._rest(float(gain[best]))
        if rest == 0.0:
            return None
        # With 2 degrees above, the F tail has a closed form: (1 + 2 F / v)^(-v / 2), here (rest / total).
        chance = len(gain) * (rest / (rest + float(gain[best]))) ** (freedom / 2.0)
        return _Suspicion(
            self.harmonics, chance, (int(i[best]), int(j[best])), (float(size_i[best]), float(size_j[best]))
        )

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
    suspected = np.zeros((n, len(worst.at)))
    for k, at in enumerate(worst.at):
        suspected[at : n if worst.is_step else at + 1, k] = 1.0
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
