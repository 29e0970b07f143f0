"""Did the dowels do what was planned? The measured shift against the planned one, and what explains the
difference (`fitter.dowels.explain`).
"""

import math
from dataclasses import dataclass

import numpy as np

from ..geometry import Vector, clock, direction, vector_of
from ..numeric.basis import Floats
from ..numeric.quantiles import plane_factor
from ..result import Facts
from .bothways import Sweeps
from .causes import CANNOT_BE_TOLD
from .explain import Done, Explanation, explain
from .kit import Kit
from .pins import Pins, influence
from .seating import Slips
from .setting import DowelSetting
from .settled import home

TOLD = 0.85
"""Probability from which one explanation is named; below it, those that may be are."""

_MOST_NAMED = 3

_RIGHT = ("as planned", "settled")


@dataclass(frozen=True, slots=True)
class Shift:
    """A movement of the housing: vector (x, y) in mm, its length and direction."""

    vector: Vector
    amount: float
    deg: float
    clock: str

    @classmethod
    def of(cls, vector: Floats) -> "Shift":
        """From a vector (x, y) in mm."""
        deg = direction(*vector)
        return cls(vector_of(vector), math.hypot(*vector), deg, clock(deg))


@dataclass(frozen=True, slots=True)
class Difference:
    """Measured less planned shift, and its 95 % region: an ellipse of half-axes semi_axes (mm), the
    longer towards axis_deg. within: whether the region about the difference holds zero. explained: how far it
    reaches in the direction of the difference, mm, which is what the amount is judged by."""

    vector: Vector
    amount: float
    semi_axes: Vector
    axis_deg: float
    within: bool
    explained: float


@dataclass(frozen=True, slots=True)
class Finding:
    """What is believed to have happened.

    cause: by its name, or that it cannot be told.
    probability: of those in `among` together.
    among: the explanations that are believed, likeliest first; one where it can be told.
    """

    cause: str
    probability: float
    among: tuple[Explanation, ...]

    @classmethod
    def of(cls, explanation: Explanation) -> "Finding":
        """One explanation that is believed."""
        return cls(explanation.cause, explanation.probability, (explanation,))


@dataclass(frozen=True, slots=True)
class Comparison(Facts):
    """planned and difference are None where no plan was given."""

    planned: Shift | None
    measured: Shift
    difference: Difference | None
    finding: Finding
    explanations: tuple[Explanation, ...]


def compare(
    sweeps: Sweeps,
    setting: DowelSetting | None,
    pins: Pins | None = None,
    kit: Kit | None = None,
    slips: Slips | None = None,
) -> Comparison:
    """Compare two sweeps. setting: the dowels as they were to be set (None: not known); pins: where they
    stand, needed only for two unlike ones, and for a pair that may have settled; kit: what they were taken
    from, with its tolerance and the sizes that may have been mistaken for them (None: the usual tolerance,
    any size); slips: how they were set, and what the holes allow (None: they stayed at their marks)."""
    measured = sweeps.shift
    if setting is None:
        moved = _region(measured.vector, measured.covariance, measured.freedom)
        only = Explanation("no shift" if moved.within else "shifted", 1.0)
        return Comparison(None, Shift.of(measured.vector), None, Finding.of(only), (only,))
    ends = home(setting, pins, slips) if pins is not None and slips is not None else None
    done = Done(setting, influence(pins), kit, ends)
    (goal,), (spread,) = done.goes(setting)
    explanations = explain(sweeps, done)
    return Comparison(
        planned=Shift.of(goal),
        measured=Shift.of(measured.vector),
        difference=_region(measured.vector - goal, measured.covariance + spread, measured.freedom),
        finding=_finding(explanations),
        explanations=explanations,
    )


def _region(vector: Floats, covariance: Floats, freedom: float) -> Difference:
    variances, axes = np.linalg.eigh(covariance)
    factor = plane_factor(0.95, freedom)
    lengths = factor * np.sqrt(np.maximum(variances, 1e-18))
    amount = math.hypot(*vector)
    # How many times the region would have to be blown up for its edge to pass through the difference.
    times = math.hypot(*((axes.T @ vector) / lengths))
    return Difference(
        vector=vector_of(vector),
        amount=amount,
        semi_axes=vector_of(lengths[::-1]),
        axis_deg=direction(*axes[:, 1]) % 180.0,
        within=times <= 1.0,
        explained=amount / times if times > 0.0 else float(lengths[0]),
    )


def _finding(explanations: tuple[Explanation, ...]) -> Finding:
    """One that is likely enough; both that are no mistake, if together they are; else what may be."""
    best = explanations[0]
    if best.probability >= TOLD:
        return Finding.of(best)
    right = tuple(each for each in explanations if each.cause in _RIGHT)
    together = sum(each.probability for each in right)
    return Finding(right[0].cause, together, right) if together >= TOLD else _undecided(explanations)


def _undecided(explanations: tuple[Explanation, ...]) -> Finding:
    """Those that together are believed."""
    named: list[Explanation] = []
    for explanation in explanations[:_MOST_NAMED]:
        named.append(explanation)
        if sum(each.probability for each in named) >= TOLD:
            break
    together = sum(each.probability for each in named)
    halves = {each.cause for each in named} == {"one dowel only", "wrong size"}
    cause = " or ".join(each.cause for each in named) if halves else CANNOT_BE_TOLD
    return Finding(cause, together, tuple(named))
