"""A small shop hardly shows how much its blocks and housings scatter: what is told of it is averaged over all
standard deviations that its jobs allow.

The standard deviations of largest likelihood are one guess among many that five or ten jobs allow. What is
told as if the guess were known comes out too sure, and most so where the guess is nothing at all. So they are
a grid here, each node with the weight that the restricted likelihood gives it times a prior, and what is told
is the sum over the nodes; at each of them everything is normal. The prior of a standard deviation s is, s_0
those of the sweeps,

    p(s) ~ s / (s^2 + s_0^2)         where it is the only one,
    p(s) ~ 1 / sqrt(s^2 + s_0^2)     of each of several.

The first is Jeffreys's for all that a job scatters, sqrt(s^2 + s_0^2), by which a variance that is judged
from n differences gives Student's t with n degrees of freedom (G. E. P. Box and G. C. Tiao, Bayesian
Inference in Statistical Analysis (1973), 2.4; from memory). Of several any one may be nothing: the second is
flat below what the sweeps could show, and as the first above it.

Where the jobs are many the likelihood leaves a single size, and that is taken for known.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..certainty.freedom import freedom_of_ratio, radius
from ..dowels.measurement import Measurement
from ..numeric.basis import Floats
from ..numeric.quantiles import plane_factor
from .mixed import Mean, MixedModel
from .reml import Fitted

MANY = 150
"""Observed components beyond the fixed part from which a standard deviation is as good as known: Student's t
with so many degrees is within 1.5 % of the normal one at 95 %."""

_LEAST, _LARGEST, _COARSE = 0.02, 12.0, 12
"""The grid of each standard deviation, in units of the spread of all observations, beside nothing at all."""

_FINE, _SEEN = 16, 1e-3
"""Then a grid of so many over the span of the nodes that had a share worth counting."""

_PLENTY = 1e5
"""Degrees of freedom that are as good as no end of them."""

_NOTHING = 1e-5
"""Weight below which a node adds nothing that anybody sees."""


@dataclass(frozen=True, slots=True)
class Sizes:
    """Standard deviations that may be.

    nodes: sets of them, shape (m, k).
    weights: how likely each is, shape (m,).
    means: the fixed part of the model at each.
    """

    nodes: Floats
    weights: Floats
    means: tuple[Mean, ...]

    def mixture(self, row: Floats) -> "Mixture":
        """A sum of the fixed coefficients with these weights, shape (q,): a vector (2,)."""
        pick = np.kron(row, np.eye(2))
        return Mixture(
            self.weights,
            np.array([row @ mean.coefficients for mean in self.means]),
            np.array([pick @ mean.covariance @ pick.T for mean in self.means]),
        )


@dataclass(frozen=True, slots=True)
class Mixture:
    """A vector in the plane that is normal with each of some means (m, 2) and covariances (m, 2, 2)."""

    weights: Floats
    means: Floats
    covariances: Floats

    def chance_beyond(self) -> float:
        """Chance that one whose true value is nothing is found as far off as this, in its own measure."""
        far = np.einsum(
            "mi,mi->m", self.means, np.linalg.solve(self.covariances, self.means[..., None])[..., 0]
        )
        return float(self.weights @ np.exp(-0.5 * far))

    def student(self) -> Measurement:
        """Student's distribution in the plane whose 50 % and 95 % regions are as large as the mixture's; the
        single regions are taken for circles here."""
        mean = self.weights @ self.means
        off = self.means - mean
        each = self.covariances + np.einsum("mi,mj->mij", off, off)
        traces = np.trace(each, axis1=1, axis2=2)
        usual = float(self.weights @ traces)
        half, most = (radius(self.weights, traces[:, None] / usual, p, 1e-3) for p in (0.5, 0.95))
        found = freedom_of_ratio(most / half)
        freedom = found if found < _PLENTY else math.inf
        shape = np.einsum("m,mij->ij", self.weights / traces, each)  # of trace one
        size = usual * (most / plane_factor(0.95, freedom)) ** 2
        return Measurement(np.asarray(mean), np.asarray(size * shape), freedom)


def sizes(fitted: Fitted) -> Sizes:
    """The standard deviations that the observations allow; where these are many, the fitted ones alone."""
    model = fitted.model
    if model.freedom > MANY or not model.dense:
        return Sizes(np.array([fitted.sds]), np.ones(1), (model.mean(fitted.sds),))
    axes = [model.scale * np.geomspace(_LEAST, _LARGEST, _COARSE)] * len(model.names)
    coarse = _weighed(model, axes)
    steps = (_LARGEST / _LEAST) ** (1.0 / (_COARSE - 1))
    fine = []
    for k, axis in enumerate(axes):
        seen = coarse[0][coarse[1] > _SEEN, k]
        low, high = max(float(seen.min()), float(axis[0])), max(float(seen.max()), float(axis[0]))
        fine.append(np.geomspace(low / (1.0 if seen.min() == 0.0 else steps), high * steps, _FINE))
    nodes, weights = _weighed(model, fine)
    return Sizes(nodes, weights, tuple(model.mean(node) for node in nodes.tolist()))


def _weighed(model: MixedModel, axes: Sequence[Floats]) -> tuple[Floats, Floats]:
    """Every set of standard deviations that rising axes give, nothing at all among them, and its weight."""
    own = math.sqrt(float(np.einsum("nii->n", model.known).mean()) / model.y.shape[1])
    known = own**2 + (_LEAST * model.scale) ** 2
    whole = [np.concatenate([[0.0], axis]) for axis in axes]
    usual = [np.log(np.gradient(axis)) - 0.5 * np.log(axis**2 + known) for axis in whole]
    if len(whole) == 1:
        with np.errstate(divide="ignore"):  # nothing at all is no part of it
            usual[0] += np.log(whole[0]) - 0.5 * np.log(whole[0] ** 2 + known)
    nodes = np.array(list(itertools.product(*(axis.tolist() for axis in whole))))
    log_weight = np.sum(list(itertools.product(*(each.tolist() for each in usual))), axis=1)
    log_weight = log_weight - 0.5 * np.array([model.deviance(node) for node in nodes.tolist()])
    weights = np.exp(log_weight - log_weight.max())
    kept = weights > _NOTHING
    return nodes[kept], weights[kept] / weights[kept].sum()
