"""Did the dowels do what was planned? The measured shift against the planned one, and what
explains the difference.

Each explanation predicts a shift with a spread of its own; its probability is its share of the
likelihood of the measured shift, weighted by how often such a thing happens.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from .basis import Floats
from .freedom import welch_satterthwaite
from .geometry import clock, direction, polar
from .plan import setting_covariance
from .result import Eccentricity
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


def compare(found: Eccentricity, left: Eccentricity, planned: tuple[float, float] | None) -> Comparison:
    """Compare two sweeps. planned: (offset in mm, direction of the high sides in degrees)."""
    shift = np.array(left.vector) - np.array(found.vector)
    covariance = np.array(found.covariance) + np.array(left.covariance)
    freedom = _pooled_freedom(found, left)
    if planned is None:
        moved = _region(shift, covariance, freedom)
        finding = _unplanned(moved)
        return Comparison(None, Shift.of(shift), None, finding, (finding,))
    goal = np.array(polar(*planned))
    spread = covariance + setting_covariance(*planned)
    explanations = _explain(shift, *planned, covariance, freedom)
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


def _explain(
    shift: Floats, offset: float, deg: float, covariance: Floats, freedom: float
) -> tuple[Explanation, ...]:
    """All explanations, likeliest first."""
    goal = np.array(polar(offset, deg))
    set_right = setting_covariance(offset, deg)

    def near(vector: Floats, spread: Floats) -> Callable[[], float]:
        return lambda: _density(shift - vector, covariance + spread, freedom)

    def along_sizes() -> float:
        sizes = [k / 8.0 for k in range(3, 25) if abs(k - 8) > 1]
        return _mean(_density(shift - size * goal, covariance + set_right, freedom) for size in sizes)

    def round_angles() -> float:
        turns = range(20, 360, 8)
        return _mean(
            _density(
                shift - np.array(polar(offset, deg + turn)),
                covariance + setting_covariance(offset, deg + turn),
                freedom,
            )
            for turn in turns
        )

    still = np.zeros((2, 2))
    # Weights: how often each happens (common practice, no source). Only their order of size matters.
    weighed: list[tuple[str, float, Callable[[], float], str]] = [
        ("as planned", 0.60, near(goal, set_right), "the dowels did what was planned"),
        (
            "180 degrees out",
            0.10,
            near(-goal, set_right),
            "both dowels are set 180 degrees out: turn each high side half a turn and sweep again",
        ),
        (
            "mirrored",
            0.08,
            near(np.array(polar(offset, -deg)), setting_covariance(offset, -deg)),
            f"the angle was read from the front: set both high sides to {clock(deg)} "
            "seen from behind the engine",
        ),
        (
            "not seated",
            0.06,
            near(0.0 * goal, still),
            "the housing did not move: the dowels were not changed or the housing is not seated on them",
        ),
        (
            "one dowel only",
            0.06,
            near(goal / 2.0, set_right / 2.0),
            "only about half of the shift arrived: one dowel is not set or not engaged",
        ),
        (
            "not turned to the mark",
            0.05,
            round_angles,
            "the size is right but the angle is not: turn both dowels to the mark and sweep again",
        ),
        (
            "wrong size",
            0.05,
            along_sizes,
            "the direction is right but the size is not: check the offset marked on the dowels",
        ),
    ]
    scores = [weight * likelihood() for _, weight, likelihood, _ in weighed]
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
