"""How well does a shop measure? Sweeps of the same housings, repeated, mounted anew, by several people,
in both senses, taken apart by restricted likelihood.

The quantity is the vector E, so its two components are pooled: each is one more degree of freedom. The
housings that were swept and the sense of turning are the fixed part; people, mountings (within a person
and a housing) and the repeats themselves are random. Terms after ISO 5725-1 and -2: repeatability (the
same person and mounting), reproducibility (all of it).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..geometry import direction
from ..numeric.basis import Floats
from ..numeric.quantiles import t_quantile
from .classical import Row, classical
from .mixed import Factor, MixedModel
from .reml import Component, Fitted, component, fit

Cause = Literal["people", "mountings", "repeats"]

REPEATABILITY = 1.96 * math.sqrt(2.0)
"""Two results may differ by this many repeatability standard deviations, 95 % (ISO 5725-6, 4.1)."""

WORST = 0.05
"""Chance of naming a sweep where all are alike."""


@dataclass(frozen=True, slots=True)
class Repeat:
    """One sweep of a study. vector: E in mm. u: standard uncertainty of a component that the sweep itself
    claimed, mm (None: not known). mounting: numbers or names of the times the dial was put on; sense: +1
    clockwise, -1 against, 0 not said."""

    housing: str
    person: str
    mounting: str
    vector: tuple[float, float]
    u: float | None = None
    sense: int = 0
    name: str = ""


@dataclass(frozen=True, slots=True)
class Worst:
    """A sweep that does not belong with the others: how far it lies off, mm, which way, and the chance of
    one as far among sweeps that are all alike."""

    name: str
    distance: float
    deg: float
    chance: float


@dataclass(frozen=True, slots=True)
class Study:
    """components: standard deviations of a component of the vector, mm: repeats always, people and mountings
    where there were several. together: names that only show as one. repeatability, reproducibility:
    standard deviations; freedom: of each. limit_95: two results of run-out by the same person and mounting
    differ by less, 95 % (2.77 s_r, and twice that for a run-out, which is twice the vector), mm. share:
    of the permitted run-out that measuring takes up (+- 1.96 s_R of a run-out); None without a limit.
    limit: the permitted run-out, mm.
    sense_gap: vector clockwise less against, mm, None unless both were swept; sense_u95: its region's
    radius. improve: what to work on first. claimed: root mean square of what the sweeps claimed. table: the
    classical analysis of variance, where everybody did the same."""

    sweeps: int
    housings: int
    components: tuple[Component, ...]
    together: tuple[tuple[str, ...], ...]
    repeatability: float
    repeatability_freedom: float
    reproducibility: float
    reproducibility_freedom: float
    limit_95: float
    share: float | None
    sense_gap: tuple[float, float] | None
    sense_u95: float | None
    improve: Cause | Literal["sense"]
    worst: Worst | None
    claimed: float | None
    table: tuple[Row, ...] | None = None
    limit: float | None = None


def study(repeats: Sequence[Repeat], limit: float | None = None) -> Study:
    """Take a study apart. limit: permitted run-out (TIR), mm. Raises ValueError, in words, where nothing was
    repeated."""
    y = np.array([repeat.vector for repeat in repeats])
    design, has_sense = _design(repeats)
    if len(repeats) < 3 or len(repeats) - design.shape[1] < 2:
        raise ValueError(
            f"{_so_many(len(repeats), 'sweep')} of {_so_many(_count(repeats, 'housing'), 'housing')} "
            f"repeat{'s' * (len(repeats) == 1)} next to nothing: "
            "sweep one housing at least three times"
        )
    factors, together = _factors(repeats)
    nothing = np.zeros((len(y), 2, 2))
    fitted = fit(MixedModel(y, nothing, design, factors, residual=True))
    components = tuple(component(fitted, k) for k in range(len(fitted.model.names)))
    every = range(len(components))
    within, whole = fitted.freedom_of(every[-1:]), fitted.freedom_of(every)
    repeatability = fitted.sds[-1]
    reproducibility = math.sqrt(sum(sd * sd for sd in fitted.sds))
    gap = region = None
    if has_sense:
        at = fitted.model.mean(fitted.sds)
        x, down = at.coefficients[-1].tolist()
        gap = (x, down)
        region = t_quantile(0.975, within) * math.sqrt(float(np.trace(at.covariance[-2:, -2:])) / 2.0)
    claims = [repeat.u for repeat in repeats if repeat.u is not None]
    return Study(
        sweeps=len(repeats),
        housings=_count(repeats, "housing"),
        components=components,
        together=together,
        repeatability=repeatability,
        repeatability_freedom=within,
        reproducibility=reproducibility,
        reproducibility_freedom=whole,
        limit_95=2.0 * REPEATABILITY * repeatability,
        share=2.0 * 1.96 * reproducibility / limit if limit else None,
        sense_gap=gap,
        sense_u95=region,
        improve=_improve(components, gap, region),
        worst=_worst(repeats, fitted),
        claimed=math.sqrt(sum(u * u for u in claims) / len(claims)) if claims else None,
        table=_balanced(repeats),
        limit=limit,
    )


def _so_many(count: int, what: str) -> str:
    return f"{count} {what}{'s' * (count != 1)}"


def _count(repeats: Sequence[Repeat], key: str) -> int:
    return len({getattr(repeat, key) for repeat in repeats})


def _design(repeats: Sequence[Repeat]) -> tuple[Floats, bool]:
    """A mean for each housing and, where both senses were turned, half of their gap to either side."""
    names = sorted({repeat.housing for repeat in repeats})
    rows = np.array([[float(repeat.housing == name) for name in names] for repeat in repeats])
    sense = np.array([repeat.sense for repeat in repeats]) / 2.0
    both = np.column_stack([rows, sense])
    if (sense > 0).any() and (sense < 0).any() and np.linalg.matrix_rank(both) == both.shape[1]:
        return both, True
    return rows, False


def _factors(repeats: Sequence[Repeat]) -> tuple[list[Factor], tuple[tuple[str, ...], ...]]:
    """People and mountings, as far as they can be told apart from each other, from the housings and from
    the repeats; and which cannot."""
    keys: dict[str, list[object]] = {
        "people": [repeat.person for repeat in repeats],
        "mountings": [(repeat.housing, repeat.person, repeat.mounting) for repeat in repeats],
    }
    housings = [repeat.housing for repeat in repeats]
    factors: list[Factor] = []
    together: list[tuple[str, ...]] = []
    seen: dict[tuple[int, ...], str] = {_numbered(range(len(repeats))): "repeats"}
    for name, key in keys.items():
        numbers = _numbered(key)
        varies = len(set(numbers)) > len(set(_numbered(housings))) or (
            name == "people" and any(len({k for k, h in zip(key, housings, strict=True) if h == house}) > 1
                                     for house in set(housings))
        )  # fmt: skip
        if not varies:
            continue
        if numbers in seen:
            together.append((seen[numbers], name))
            continue
        seen[numbers] = name
        factors.append(Factor(name, np.array(numbers, dtype=np.int64)))
    return factors, tuple(together)


def _numbered(keys: Sequence[object]) -> tuple[int, ...]:
    numbers: dict[object, int] = {}
    return tuple(numbers.setdefault(key, len(numbers)) for key in keys)


def _improve(
    components: Sequence[Component], gap: tuple[float, float] | None, region: float | None
) -> Cause | Literal["sense"]:
    """The largest share; the sense of turning counts where its gap is beyond doubt."""
    causes: dict[str, Cause] = {"people": "people", "mountings": "mountings", "residual": "repeats"}
    worst = max(components, key=lambda c: c.sd)
    if gap is not None and region is not None:
        size = math.hypot(*gap)
        if size > region and size / 2.0 > worst.sd:
            return "sense"
    return causes[worst.name]


def _worst(repeats: Sequence[Repeat], fitted: Fitted) -> Worst | None:
    """The sweep farthest from what everything else expects of it, if chance would hardly do as much."""
    freedom = fitted.model.freedom
    if freedom < 6:
        return None
    left, room = fitted.model.apart(fitted.sds)
    # Each sweep's own two components, as a share of what all of them leave; nothing is left of one alone.
    seen = np.linalg.eigvalsh(room)[:, 0]
    shared = np.flatnonzero(seen > 1e-9 * seen.max())
    squares = np.zeros(len(left))
    squares[shared] = [float(left[k] @ np.linalg.solve(room[k], left[k])) for k in shared]
    at = int(np.argmax(squares))
    chance = chance_of_farthest(float(squares[at]) / freedom, freedom, len(shared))
    if chance >= WORST:
        return None
    # What it differs from the prediction of all the others.
    x, y = np.linalg.solve(room[at], left[at]).tolist()
    return Worst(repeats[at].name, math.hypot(x, y), direction(x, y), chance)


def chance_of_farthest(share: float, freedom: float, tried: int) -> float:
    """Chance that the farthest of `tried` vectors, (2,), takes as large a share of the sum of squares, which
    has `freedom` degrees, as they all would have without it (D. M. Hawkins, Identification of Outliers
    (1980), 10). By Bonferroni's bound, which is exact for the farthest of few."""
    alone = (1.0 - min(max(share, 0.0), 1.0 - 1e-12)) ** ((freedom - 2.0) / 2.0)
    return min(1.0, tried * float(alone))


def _balanced(repeats: Sequence[Repeat]) -> tuple[Row, ...] | None:
    """The classical table of a study in which everybody did the same; None of any other, or one in which both
    senses were turned."""
    if len({repeat.sense for repeat in repeats}) > 1:
        return None
    people, housings = (sorted({getattr(r, key) for r in repeats}) for key in ("person", "housing"))
    cells: dict[tuple[str, str], dict[str, list[tuple[float, float]]]] = {}
    for each in repeats:
        mounted = cells.setdefault((each.person, each.housing), {})
        mounted.setdefault(each.mounting, []).append(each.vector)
    shapes = {tuple(sorted(map(len, mounted.values()))) for mounted in cells.values()}
    if len(cells) < len(people) * len(housings) or len(shapes) > 1 or len(set(next(iter(shapes)))) > 1:
        return None
    table = [[list(cells[person, housing].values()) for housing in housings] for person in people]
    return classical(np.array(table))
