"""Did the dowels do what was planned? The measured shift against the planned one, and what
explains the difference.

Each explanation predicts a shift with a spread of its own; its probability is its share of the
likelihood of the measured shift, weighted by how often such a thing happens.
"""

import math
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from .basis import Floats
from .body import Pins, parallel_only
from .freedom import welch_satterthwaite
from .geometry import clock, direction
from .plan import setting_covariance
from .result import Eccentricity
from .split import Setting, contributions
from .student import plane_factor

TOLD = 0.8
"""Probability from which one explanation is named; below it, sweep once more."""


@dataclass(frozen=True, slots=True)
class Shift:
    """A movement of the housing: vector (x, y) in mm, its length and direction."""

    vector: tuple[float, float]
    amount: float
    deg: float
    clock: str

    @classmethod
    def of(cls, vector: tuple[float, float] | Floats) -> "Shift":
        """From a vector (x, y) in mm."""
        x, y = float(vector[0]), float(vector[1])
        deg = direction(x, y)
        return cls((x, y), math.hypot(x, y), deg, clock(deg))


@dataclass(frozen=True, slots=True)
class Difference:
    """Measured less planned shift, and its 95 % region: an ellipse of half-axes semi_axes (mm), the
    longer towards axis_deg. within: whether the region about the difference holds zero."""

    vector: tuple[float, float]
    amount: float
    semi_axes: tuple[float, float]
    axis_deg: float
    within: bool


@dataclass(frozen=True, slots=True)
class Explanation:
    """What may have happened, its probability among the explanations weighed, and what to do."""

    cause: str
    probability: float
    words: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """planned and difference are None where no plan was given."""

    planned: Shift | None
    measured: Shift
    difference: Difference | None
    finding: Explanation
    explanations: tuple[Explanation, ...]

    def to_dict(self) -> dict[str, Any]:
        """The comparison as JSON-ready dictionaries and lists."""
        return asdict(self)


def compare(
    found: Eccentricity, left: Eccentricity, setting: Setting | None, pins: Pins | None = None
) -> Comparison:
    """Compare two sweeps. setting: the dowels as they were to be set (None: not known); pins: where they
    stand, needed only for two unlike ones."""
    shift = np.array(left.vector) - np.array(found.vector)
    covariance = np.array(found.covariance) + np.array(left.covariance)
    freedom = _pooled_freedom(found, left)
    if setting is None:
        moved = _region(shift, covariance, freedom)
        finding = _unplanned(moved)
        return Comparison(None, Shift.of(shift), None, finding, (finding,))
    influence = pins.influence() if pins is not None else parallel_only()
    goal = np.add(*contributions(setting, influence))
    spread = covariance + setting_covariance(setting, influence)
    explanations = _explain(shift, setting, influence, covariance, freedom)
    best = explanations[0]
    finding = best if best.probability >= TOLD else _undecided(explanations)
    return Comparison(
        planned=Shift.of(goal),
        measured=Shift.of(shift),
        difference=_region(shift - goal, spread, freedom),
        finding=finding,
        explanations=explanations,
    )


def _pooled_freedom(found: Eccentricity, left: Eccentricity) -> float:
    traces = [float(np.trace(np.array(ecc.covariance))) for ecc in (found, left)]
    return welch_satterthwaite(
        traces, [math.inf if ecc.freedom is None else ecc.freedom for ecc in (found, left)]
    )


def _region(vector: Floats, covariance: Floats, freedom: float) -> Difference:
    variances, axes = np.linalg.eigh(covariance)
    factor = plane_factor(0.95, freedom)
    lengths = np.sqrt(np.maximum(variances, 0.0))
    inside = float(((axes.T @ vector) ** 2 / np.maximum(variances, 1e-18)).sum()) <= factor**2
    return Difference(
        vector=(float(vector[0]), float(vector[1])),
        amount=math.hypot(*vector),
        semi_axes=(factor * float(lengths[1]), factor * float(lengths[0])),
        axis_deg=direction(float(axes[0, 1]), float(axes[1, 1])) % 180.0,
        within=inside,
    )


def _unplanned(moved: Difference) -> Explanation:
    if moved.within:
        words = "the housing has not moved, as far as can be told"
        return Explanation("no shift", 1.0, words)
    return Explanation("shifted", 1.0, "the housing has moved; no plan was given to compare it with")


def _undecided(explanations: tuple[Explanation, ...]) -> Explanation:
    names = " or ".join(e.cause for e in explanations[:2])
    return Explanation(
        "cannot be told", explanations[0].probability, f"{names}: cannot be told, sweep once more"
    )


_Influence = tuple[Floats, Floats]


def _turned(setting: Setting, by: float) -> Setting:
    return Setting(setting.offsets, (setting.degrees[0] + by, setting.degrees[1] + by))


def _explain(
    shift: Floats, setting: Setting, influence: _Influence, covariance: Floats, freedom: float
) -> tuple[Explanation, ...]:
    """All explanations, likeliest first."""

    def as_set(done: Setting) -> float:
        """Likelihood of the measured shift if the dowels had been set so."""
        spread = covariance + setting_covariance(done, influence)
        return _density(shift - np.add(*contributions(done, influence)), spread, freedom)

    first, second = contributions(setting, influence)
    spread = setting_covariance(setting, influence)
    mirrored = Setting(setting.offsets, (-setting.degrees[0], -setting.degrees[1]))
    sizes = [k / 8.0 for k in range(3, 25) if abs(k - 8) > 1]
    marks = " and ".join(dict.fromkeys(clock(deg) for deg in setting.degrees))
    # Weights: how often each happens (common practice, no source). Only their order of size matters.
    weighed: list[tuple[str, float, float, str]] = [
        ("as planned", 0.60, as_set(setting), "the dowels did what was planned"),
        (
            "180 degrees out",
            0.10,
            as_set(_turned(setting, 180.0)),
            "both dowels are set 180 degrees out: turn each high side half a turn and sweep again",
        ),
        (
            "mirrored",
            0.08,
            as_set(mirrored),
            f"the angle was read from the front: set the high sides to {marks} seen from behind the engine",
        ),
        (
            "not seated",
            0.06,
            _density(shift, covariance, freedom),
            "the housing did not move: the dowels were not changed or the housing is not seated on them",
        ),
        (
            "one dowel only",
            0.06,
            _mean(_density(shift - part, covariance + spread / 2.0, freedom) for part in (first, second)),
            "only about half of the shift arrived: one dowel is not set or not engaged",
        ),
        (
            "not turned to the mark",
            0.05,
            _mean(as_set(_turned(setting, by)) for by in range(20, 360, 8)),
            "the size is right but the angle is not: turn both dowels to the mark and sweep again",
        ),
        (
            "wrong size",
            0.05,
            _mean(_density(shift - size * (first + second), covariance + spread, freedom) for size in sizes),
            "the direction is right but the size is not: check the offset marked on the dowels",
        ),
    ]
    scores = [weight * likelihood for _, weight, likelihood, _ in weighed]
    total = sum(scores)
    found = [
        Explanation(cause, score / total if total > 0.0 else 0.0, words)
        for (cause, _, _, words), score in zip(weighed, scores, strict=True)
    ]
    return tuple(sorted(found, key=lambda e: -e.probability))


def _mean(values: Iterable[float]) -> float:
    listed = list(values)
    return sum(listed) / len(listed)


def _density(vector: Floats, covariance: Floats, freedom: float) -> float:
    """Bivariate Student (or normal) density, mm^-2."""
    variances, axes = np.linalg.eigh(covariance)
    variances = np.maximum(variances, 1e-12)
    square = float(((axes.T @ vector) ** 2 / variances).sum())
    scale = 2.0 * math.pi * math.sqrt(float(variances.prod()))
    if math.isinf(freedom):
        return math.exp(-square / 2.0) / scale
    return math.exp(-(freedom / 2.0 + 1.0) * math.log1p(square / freedom)) / scale
