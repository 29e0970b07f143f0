"""Standard deviations of a mixed model by restricted maximum likelihood, with intervals that are honest at
zero, and degrees of freedom of what is computed with them.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats
from .mixed import MixedModel

_CHI2_95 = 3.841458820694124
"""95 % quantile of chi square with one degree, the square of 1.959963984540054."""

_STEP = 1e-3

_MOST = 100.0
"""Largest standard deviation looked at, in units of the spread of all observations."""

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
        values = np.maximum(values, 1e-12 * max(float(values[-1]), 1e-300))
        return np.asarray((vectors / values) @ vectors.T)

    def freedom_of(self, variance: Callable[[tuple[float, ...]], float]) -> float:
        """Degrees of freedom of a variance that was computed with the estimated standard deviations.

        2 v^2 / var(v), with var(v) by the delta method (F. E. Satterthwaite, Biometrics 2 (1946) 110-114).
        """
        here = variance(self.sds)
        gradient = np.array([self._slope(variance, k) for k in self.free])
        spread = float(gradient @ self.variance_covariance() @ gradient) if self.free else 0.0
        return 2.0 * here * here / spread if spread > 0.0 else math.inf

    def _slope(self, variance: Callable[[tuple[float, ...]], float], k: int) -> float:
        """Derivative by the k-th variance."""
        at = self.sds[k] ** 2
        up, down = (variance(self._with(k, at * (1.0 + step))) for step in (_STEP, -_STEP))
        return (up - down) / (2.0 * _STEP * at)

    def _with(self, k: int, variance: float) -> tuple[float, ...]:
        return (*self.sds[:k], math.sqrt(max(variance, 0.0)), *self.sds[k + 1 :])


def fit(model: MixedModel) -> Fitted:
    """The standard deviations of largest restricted likelihood. Raises ValueError where fewer components
    of observations than unknown standard deviations are left over."""
    if model.freedom < max(len(model.names), 1):
        raise ValueError("too few observations to judge any scatter from")
    start = np.full(len(model.names), 1.0 / math.sqrt(max(len(model.names), 1)))
    sds, deviance = _minimum(model, start, fixed=())
    free = tuple(k for k, sd in enumerate(sds) if sd > 1e-3 * model.scale)
    curvature = _curvature(model, sds, free)
    return Fitted(model, tuple(float(sd) for sd in sds), deviance, free, curvature)


def component(fitted: Fitted, k: int) -> Component:
    """The k-th standard deviation with its interval: where the deviance, least over all others, rises by
    no more than the 95 % quantile of chi square. With plenty of data its curvature says the same."""
    model, best = fitted.model, fitted.sds[k]
    if k in fitted.free:
        at = fitted.free.index(k)
        relative = math.sqrt(float(fitted.variance_covariance()[at, at])) / best**2
        if relative < _PLENTY:
            reach = math.exp(0.5 * math.sqrt(_CHI2_95) * relative)
            return Component(model.names[k], best, best / reach, best * reach)
    ceiling = fitted.deviance + _CHI2_95
    others = np.array(fitted.sds) / model.scale

    def above(sd: float) -> float:
        nonlocal others
        start = others.copy()
        start[k] = sd / model.scale
        found, deviance = _minimum(model, start, fixed=(k,))
        others = np.maximum(np.asarray(found) / model.scale, 1e-2)
        return deviance - ceiling

    from scipy.optimize import brentq

    tolerance = 5e-4 * model.scale
    low = 0.0
    if best > tolerance and above(0.0) > 0.0:
        low = float(brentq(above, 0.0, best, xtol=tolerance))
    reach = 2.0 * max(best, 0.05 * model.scale)
    while above(reach) < 0.0 and reach < 0.5 * _MOST * model.scale:
        reach *= 2.0
    high = float(brentq(above, max(best, 0.0), reach, xtol=tolerance))
    return Component(model.names[k], best, low, high)


def _minimum(model: MixedModel, start: Floats, fixed: tuple[int, ...]) -> tuple[Floats, float]:
    """Least deviance over the standard deviations that are not fixed; start in units of the scale."""
    from scipy.optimize import minimize

    moving = [k for k in range(len(start)) if k not in fixed]

    def whole(part: Floats) -> Floats:
        sds = start.copy()
        sds[moving] = part
        return np.abs(sds) * model.scale

    if not moving:
        return whole(np.zeros(0)), model.deviance(whole(np.zeros(0)).tolist())

    def deviance(part: Floats) -> float:
        return model.deviance(whole(part).tolist())

    def both(part: Floats) -> tuple[float, Floats]:
        value, gradient = model.slope(whole(part).tolist())
        return value, gradient[moving] * model.scale

    # Zero is a turning point of an even function, where a search that starts there would stay: begin away.
    begin = np.maximum(start[moving], 0.05)
    bounds = [(0.0, _MOST)] * len(moving)
    options = {"ftol": 1e-10, "gtol": 1e-4}
    goal = both if model.dense else deviance
    found = minimize(goal, begin, jac=model.dense, method="L-BFGS-B", bounds=bounds, options=options)  # type: ignore[call-overload]
    best, value = found.x, float(found.fun)
    for k in range(len(moving)):
        lower = best.copy()
        lower[k] = 0.0
        if (trial := deviance(lower)) <= value + 1e-9:
            best, value = lower, trial
    return whole(best), value


def _curvature(model: MixedModel, sds: Floats, free: tuple[int, ...]) -> Floats:
    """Second differences of half the deviance by the free variances."""
    variances = np.asarray(sds) ** 2
    steps = {k: 0.02 * variances[k] for k in free}

    def half(moved: dict[int, float]) -> float:
        at = variances.copy()
        for k, by in moved.items():
            at[k] += by
        return model.deviance(np.sqrt(np.maximum(at, 0.0)).tolist()) / 2.0

    middle = half({})
    table = np.zeros((len(free), len(free)))
    for a, i in enumerate(free):
        up, down = half({i: steps[i]}), half({i: -steps[i]})
        table[a, a] = (up - 2.0 * middle + down) / steps[i] ** 2
        for b, j in enumerate(free[:a]):
            corners = [half({i: s * steps[i], j: t * steps[j]}) for s in (1, -1) for t in (1, -1)]
            mixed = (corners[0] - corners[1] - corners[2] + corners[3]) / (4.0 * steps[i] * steps[j])
            table[a, b] = table[b, a] = mixed
    return table
