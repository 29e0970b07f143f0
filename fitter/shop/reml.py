"""Standard deviations of a mixed model by restricted maximum likelihood, with intervals that are honest at
zero, and degrees of freedom of what is computed with them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats
from .descent import Mask, least
from .mixed import MixedModel
from .slopes import Slopes

_CHI2_95 = 3.841458820694124
"""95 % quantile of chi square with one degree, the square of 1.959963984540054."""

_MOST = 100.0
"""Largest standard deviation looked at, in units of the spread of all observations."""

_NOTHING = 1e-3
"""Standard deviation, in units of the same spread, that is as good as none."""

_EXACT = 1e-10
"""Relative step at which an edge is found: the next one would be its square."""

_PLENTY = 0.05
"""Relative standard deviation of a variance below which its likelihood is as good as that of a logarithm."""


@dataclass(frozen=True, slots=True)
class Component:
    """A standard deviation and its 95 % interval by profile likelihood; low is 0 where nothing speaks
    against there being no such scatter at all."""

    name: str
    sd: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Fitted:
    """A model at its most likely standard deviations. curvature: second derivatives of half the deviance
    by the variances of `free`, the components that are not zero, (k, k)."""

    model: MixedModel
    sds: tuple[float, ...]
    deviance: float
    free: tuple[int, ...]
    curvature: Floats

    def variance_covariance(self) -> Floats:
        """Covariance of the variances of `free`, from the curvature of the likelihood, (k, k)."""
        if not self.free:
            return np.zeros((0, 0))
        values, vectors = np.linalg.eigh(self.curvature)
        # A flat direction would promise too much certainty if it were taken as it is.
        values = np.maximum(values, max(1e-12 * float(np.abs(values).max()), 1e-100))
        return np.asarray((vectors / values) @ vectors.T)

    def freedom_of(self, which: Sequence[int]) -> float:
        """Degrees of freedom of the sum of some of the variances, by their numbers.

        2 v^2 / var(v) (F. E. Satterthwaite, Biometrics 2 (1946) 110-114); at least one, for a variance that
        is hardly more than nothing would come out with next to none.
        """
        whole = sum(self.sds[k] ** 2 for k in which)
        told = np.isin(self.free, which).astype(np.float64)
        spread = float(told @ self.variance_covariance() @ told)
        return max(2.0 * whole * whole / spread, 1.0) if spread > 0.0 else math.inf


def fit(model: MixedModel, near: tuple[float, ...] | None = None) -> Fitted:
    """The standard deviations of largest restricted likelihood, looked for from those of a model that is
    nearly the same. Raises ValueError where fewer components of observations than unknown standard
    deviations are left over."""
    count = len(model.names)
    start = np.full(count, model.scale**2 / max(count, 1))
    if near is not None:
        # From nothing a search would not see that there is something.
        start = np.maximum(np.square(near), 0.01 * start)
    found, at = _least(model, start, np.full(count, True))
    free = tuple(k for k, variance in enumerate(found.tolist()) if variance > (_NOTHING * model.scale) ** 2)
    sds = tuple(math.sqrt(variance) for variance in found.tolist())
    return Fitted(model, sds, at.deviance, free, at.curved[np.ix_(free, free)] / 2.0)


def component(fitted: Fitted, k: int) -> Component:
    """The k-th standard deviation with its interval: where the deviance, least over all others, rises by
    no more than the 95 % quantile of chi square. With plenty of data its curvature says the same."""
    model, best = fitted.model, fitted.sds[k]
    relative = 1.0
    if k in fitted.free:
        at = fitted.free.index(k)
        relative = math.sqrt(float(fitted.variance_covariance()[at, at])) / best**2
    reach = math.exp(0.5 * math.sqrt(_CHI2_95) * min(relative, 1.0))
    if relative < _PLENTY:
        return Component(model.names[k], best, best / reach, best * reach)
    low, nothing = 0.0, _NOTHING * model.scale
    if best > nothing:
        least_of_all = _profile(fitted, k, nothing, np.square(fitted.sds))[1].deviance
        if least_of_all > fitted.deviance + _CHI2_95:
            low = _edge(fitted, k, max(best / reach, 1.1 * nothing), (nothing, best))
    start = best * reach if k in fitted.free else 0.1 * model.scale
    high = _edge(fitted, k, start, (best, _MOST * model.scale))
    return Component(model.names[k], best, low, high)


def _profile(fitted: Fitted, k: int, sd: float, start: Floats) -> tuple[Floats, Slopes]:
    """Variances of least deviance where the k-th is given."""
    start = start.copy()
    start[k] = sd * sd
    moving = np.arange(len(start)) != k
    # From nothing no way leads uphill that the first step would see: begin a little above.
    start[moving] = np.maximum(start[moving], (1e-2 * fitted.model.scale) ** 2)
    return _least(fitted.model, start, moving)


def _edge(fitted: Fitted, k: int, start: float, bracket: tuple[float, float]) -> float:
    """Where the profile crosses its ceiling: Newton's method on the root of its rise, which is nearly
    straight against the logarithm, kept within a bracket."""
    low, high = bracket
    outwards = 1.0 if high > fitted.sds[k] else -1.0
    at, others = start, np.square(fitted.sds)
    for _ in range(60):
        others, here = _profile(fitted, k, at, others)
        rise = here.deviance - fitted.deviance
        if (rise < _CHI2_95) == (outwards > 0.0):
            low = at
        else:
            high = at
        root = math.sqrt(max(rise, 1e-6))
        slope = float(here.gradient[k]) * at * at / root
        step = (math.sqrt(_CHI2_95) - root) / slope if slope * outwards > 0.0 else math.inf
        there = at * math.exp(min(max(step, -1.0), 1.0))
        if not low < there < high:
            there = (low + high) / 2.0 if high < 4.0 * max(at, low) else 2.0 * at
        if abs(there - at) <= _EXACT * at:
            return there
        at = there
    return at


def _least(model: MixedModel, start: Floats, moving: Mask) -> tuple[Floats, Slopes]:
    def slopes(variances: Floats) -> Slopes:
        return model.slopes(np.sqrt(variances).tolist())

    best, here = least(slopes, start, moving, (_MOST * model.scale) ** 2)
    # A likelihood of several variances may have its peak at nothing and a lesser one above it.
    for k in np.flatnonzero(moving & (best > 0.0)).tolist():
        lower = best.copy()
        lower[k] = 0.0
        if model.deviance(np.sqrt(lower).tolist()) <= here.deviance + 1e-9:
            best, here = least(slopes, lower, moving, (_MOST * model.scale) ** 2)
    return best, here
