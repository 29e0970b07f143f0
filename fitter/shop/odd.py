"""Single blocks or housings that do not belong to their family: one that another tool made, or one that was
bored again.

An odd one makes the scatter look larger, and hides in it. So the likeliest is given a mean of its own, all
standard deviations are fitted anew without it, and what it differs from the rest is judged against what
these leave to chance: a deleted residual, as in R. D. Cook and S. Weisberg, Residuals and Influence in
Regression (1982), 2.2, counted over standard deviations that are not known (`sizes`). By Bonferroni's bound
over all levels; then again without the ones found.
"""

from dataclasses import dataclass, replace

import numpy as np

from ..geometry import vector_of
from .mixed import MixedModel
from .reml import Fitted, fit
from .sizes import sizes

ODD = 0.04
"""Chance of naming any where all are alike; in made shops of 5 to 20 jobs one in 20 came of it."""

_MOST = 5
_LOOKED_AT = 50
_LEFT = 1e-6
_FARTHER = 1.0 + 1e-9


@dataclass(frozen=True, slots=True)
class OddLevel:
    """factor, level: numbers in the model. vector: what it lies off its family, (2,), and u95 the radius of
    that one's 95 % region, the scatter of levels that belong not counted in. chance: of one as far."""

    factor: int
    level: int
    vector: tuple[float, float]
    u95: float
    chance: float


def odd_levels(fitted: Fitted) -> tuple[OddLevel, ...]:
    """The odd ones of every factor, in the order they were found; of vectors with two components."""
    found: list[OddLevel] = []
    while len(found) < _MOST:
        candidate = _farthest(fitted, {(one.factor, one.level) for one in found})
        if candidate is None:
            break
        fitted = _apart(fitted, *candidate)
        one = _judged(fitted, *candidate)
        if one.chance >= ODD:
            break
        found.append(one)
    return tuple(found)


def _farthest(fitted: Fitted, known: set[tuple[int, int]]) -> tuple[int, int] | None:
    """The level that lies farthest off for what its predictor scatters."""
    model, best, far = fitted.model, None, 0.0
    if model.freedom <= 2 * (len(model.names) + 2):
        return None
    for k in range(len(model.factors)):
        variance = fitted.sds[k] ** 2
        if k not in fitted.free:
            continue
        values, _ = model.predicted(fitted.sds, k)
        levels = np.sort(np.argsort(-np.hypot(*values.T), kind="stable")[:_LOOKED_AT])
        scatter = variance * np.eye(2) - model.unsure(fitted.sds, k, levels.tolist())
        for level, spread in zip(levels.tolist(), scatter, strict=True):
            # Nothing is left of a level that the fixed part already has for itself.
            if (k, level) in known or float(np.linalg.eigvalsh(spread)[0]) < _LEFT * variance:
                continue
            size = float(values[level] @ np.linalg.solve(spread, values[level]))
            # Of two that balance each other the first, whatever rounding says.
            if size > far * _FARTHER:
                best, far = (k, level), size
    return best


def _apart(fitted: Fitted, k: int, level: int) -> Fitted:
    """Fitted anew, with one more fixed coefficient, the last: that of the level."""
    model = fitted.model
    mine = (model.factors[k].levels == level).astype(np.float64)
    design = np.column_stack([model.design, mine])
    apart = MixedModel(model.y, model.known, design, model.factors, residual=model.residual)
    return fit(apart, near=fitted.sds)


def _judged(fitted: Fitted, k: int, level: int) -> OddLevel:
    allowed = sizes(fitted)
    apart = allowed.mixture(np.eye(len(allowed.means[0].coefficients))[-1])
    # The level's own scatter is what it is judged against, and no part of how well it is known.
    own = allowed.nodes[:, k, np.newaxis, np.newaxis] ** 2 * np.eye(2)
    where = replace(apart, covariances=apart.covariances - own).student()
    # Every factor gets the same share of false alarms, so that many blocks do not hush up a housing.
    tested = len(fitted.model.factors) * len(np.unique(fitted.model.factors[k].levels))
    chance = min(1.0, tested * apart.chance_beyond())
    return OddLevel(k, level, vector_of(where.vector), where.u95, chance)
