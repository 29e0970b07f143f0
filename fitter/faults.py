"""Stations that do not belong, and knocks of the rig: found, sized and named.

Each suspicion is a column added to the model (one station apart, or everything after a moment
apart); the one that explains most is accepted if chance would hardly ever do as well, and the
search goes on without that station. Rules out by F test with Bonferroni's bound over all suspicions
looked at, after R. D. Cook and S. Weisberg, Residuals and Influence in Regression (1982), 2.2.2.
"""

import math
from dataclasses import dataclass

import numpy as np

from .basis import Floats
from .errors import TooFewStations
from .geometry import clock
from .model import harmonic_design, supported_harmonics
from .result import Outlier, Step
from .stations import Stations
from .student import t_below
from .units import MM_PER_INCH, MM_PER_THOU

FALSE_ALARM = 0.01
"""Chance of accusing anything in a sweep in which nothing is wrong."""

WORTH_NAMING_MM = 0.5 * MM_PER_THOU
"""Faults below half a thou change no decision and are left in (common practice, no source)."""

_MOST_FOR_PAIRS = 40


@dataclass(frozen=True, slots=True)
class Faults:
    """outliers: index and finding of each bad station. step: index of the first station after a knock,
    or None."""

    outliers: tuple[tuple[int, Outlier], ...] = ()
    step_at: int | None = None


@dataclass(frozen=True, slots=True)
class _Suspicion:
    chance: float
    at: int
    size: float
    is_step: bool


def find(
    stations: Stations, extras: list[Floats], neighbours: float = 0.0, drift: Floats | None = None
) -> Faults:
    """Look for bad stations and one knock. extras: further columns of the model, (n,) each;
    neighbours: correlation of neighbouring stations, which makes knocks look commoner. drift: the
    column of a steady drift, where a closing reading shows one: a fault must explain the sweep far
    better than that does."""
    kept = np.arange(len(stations))
    bad: list[tuple[int, Outlier]] = []
    most = max(1, len(stations) // 5)
    while len(bad) < most:
        steady = None if drift is None else drift[kept]
        left, columns = stations.take(kept), [extra[kept] for extra in extras]
        worst = _worst(left, columns, neighbours, steady)
        if worst is None:
            pair = _pair(left, columns) if len(bad) + 2 <= most else None
            if pair is None:
                break
            for at, size in pair:
                bad.append((int(kept[at]), _name(stations, int(kept[at]), size)))
            kept = np.delete(kept, [at for at, _ in pair])
            continue
        if worst.is_step:
            return Faults(tuple(bad), step_at=int(kept[worst.at]))
        index = int(kept[worst.at])
        bad.append((index, _name(stations, index, worst.size)))
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


def _worst(
    stations: Stations, extras: list[Floats], neighbours: float, drift: Floats | None
) -> _Suspicion | None:
    """The suspicion that chance explains least, if it hardly can."""
    try:
        supported = supported_harmonics(stations, len(extras))
    except TooFewStations:
        return None
    # With few stations the second harmonic takes the room in which a fault would show, so the plain
    # circle is tried as well, each with half of the false alarms.
    orders = {1, supported} if len(stations) < 16 else {supported}
    found = [
        suspicion
        for harmonics in orders
        if (suspicion := _suspect(stations, harmonics, extras, neighbours, drift)) is not None
        and suspicion.chance < FALSE_ALARM / len(orders)
        and abs(suspicion.size) > WORTH_NAMING_MM
    ]
    return min(found, key=lambda s: s.chance, default=None)


def _suspect(
    stations: Stations, harmonics: int, extras: list[Floats], neighbours: float, drift: Floats | None
) -> _Suspicion | None:
    n = len(stations)
    design = harmonic_design(stations, harmonics, extras)
    freedom = n - design.shape[1] - 1
    if freedom < 2:
        return None
    Q, _ = np.linalg.qr(design)
    residual = stations.value - Q @ (Q.T @ stations.value)
    total = float(residual @ residual)
    # Every station alone, then everything from the k-th on, in order of time, by sums from the end. A
    # knock next to an end is a bad end station: the steps begin after two.
    alone = residual, 1.0 - (Q * Q).sum(axis=1)
    steps = slice(2, n - 1)
    tail = np.cumsum(Q[::-1], axis=0)[::-1]
    after = (
        np.cumsum(residual[::-1])[::-1][steps],
        (np.arange(n, 0, -1) - (tail * tail).sum(axis=1))[steps],
    )
    gains = []
    for seen, room in (alone, after):
        # A column that the model already holds can explain nothing.
        usable = room > 1e-6
        size = np.divide(seen, room, out=np.zeros_like(seen), where=usable)
        gains.append((size, np.where(usable, seen * size, 0.0)))
    suspicions = []
    count = n + len(after[0])
    drifting = total - _gain(drift, Q, residual) if drift is not None else math.inf
    for is_step, (size, gain) in zip((False, True), gains, strict=True):
        if len(gain) == 0:
            continue
        at = int(np.argmax(gain))
        rest = max(total - float(gain[at]), 0.0)
        if rest <= 1e-12 * total:
            rest = 1e-12 * total
        if rest == 0.0:
            return None
        # Twice the log likelihood ratio of two models of one size is n log of the residual sums' ratio.
        if drifting < rest * (count / FALSE_ALARM) ** (2.0 / n):
            continue
        inflation = (1.0 + neighbours) / (1.0 - neighbours) if is_step else 1.0
        t = math.sqrt(float(gain[at]) * freedom / rest / inflation)
        chance = count * 2.0 * float(t_below(np.array(-t), freedom))
        suspicions.append(_Suspicion(chance, at + 2 if is_step else at, float(size[at]), is_step))
    return min(suspicions, key=lambda s: s.chance, default=None)


def _pair(stations: Stations, extras: list[Floats]) -> list[tuple[int, float]] | None:
    """Two bad stations that hide each other, such as a low one opposite a high one: (index, size)."""
    n = len(stations)
    if n > _MOST_FOR_PAIRS:
        return None
    try:
        design = harmonic_design(stations, supported_harmonics(stations, len(extras)), extras)
    except TooFewStations:
        return None
    freedom = n - design.shape[1] - 2
    if freedom < 2:
        return None
    Q, _ = np.linalg.qr(design)
    keep = np.eye(n) - Q @ Q.T
    residual = keep @ stations.value
    total = float(residual @ residual)
    best: tuple[float, int, int, Floats] | None = None
    for i in range(n):
        for j in range(i + 1, n):
            room = keep[np.ix_([i, j], [i, j])]
            if room[0, 0] * room[1, 1] - room[0, 1] ** 2 < 1e-6:
                continue
            size = np.linalg.solve(room, residual[[i, j]])
            gain = float(residual[[i, j]] @ size)
            if best is None or gain > best[0]:
                best = gain, i, j, size
    if best is None or min(abs(best[3])) <= WORTH_NAMING_MM:
        return None
    gain, i, j, size = best
    rest = max(total - gain, 1e-12 * total)
    # With 2 degrees above, the F tail has a closed form: (1 + 2 F / v)^(-v / 2), here (rest / total).
    chance = n * (n - 1) / 2.0 * (rest / (rest + gain)) ** (freedom / 2.0)
    return [(i, float(size[0])), (j, float(size[1]))] if chance < FALSE_ALARM else None


def _gain(column: Floats, Q: Floats, residual: Floats) -> float:
    """By how much a further column would lower the residual sum."""
    room = float(column @ column) - float(((Q.T @ column) ** 2).sum())
    return float(column @ residual) ** 2 / room if room > 1e-6 else 0.0


def _name(stations: Stations, index: int, residual: float) -> Outlier:
    """What a bad station looks like: its reading, set right in one of the usual ways, would fit."""
    value = float(stations.value[index])
    expected = value - residual
    near = 0.1 * abs(residual)
    deg = float(stations.deg[index])
    looks = "lower than its neighbours: the tip may be in a hole or notch"
    if residual > 0.0:
        looks = "higher than its neighbours: look for a burr or dirt"
    slips = (
        ("the sign is wrong", -value),
        ("it was read in the wrong unit", value * MM_PER_INCH),
        ("it was read in the wrong unit", value / MM_PER_INCH),
        ("the decimal point slipped", value * 10.0),
        ("the decimal point slipped", value / 10.0),
    )
    slip, right = min(slips, key=lambda entry: abs(entry[1] - expected))
    if abs(right - expected) < near and abs(value) > near:
        looks = slip
    return Outlier(deg=deg, clock=clock(deg), residual=residual, weight=0.0, looks=looks)
