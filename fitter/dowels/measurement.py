"""A vector that was measured: how sure it is, and how likely if another was to be expected."""

import math
from dataclasses import dataclass

import numpy as np

from ..certainty.freedom import welch_satterthwaite
from ..numeric.basis import Floats
from ..numeric.quantiles import plane_factor


@dataclass(frozen=True, slots=True, eq=False)
class Measurement:
    """A vector (x, y), mm, with its covariance, (2, 2), mm^2, and degrees of freedom."""

    vector: Floats
    covariance: Floats
    freedom: float

    @property
    def u95(self) -> float:
        """Radius of the 95 % region, mm, taken for a circle."""
        sd = math.sqrt(max(float(np.trace(self.covariance)) / 2.0, 0.0))
        return plane_factor(0.95, self.freedom) * sd

    def spread(self, known: Floats) -> "Measurement":
        """The same with a covariance beside its own that is known beforehand, (2, 2), mm^2."""
        traces = [float(np.trace(self.covariance)), float(np.trace(known))]
        freedom = welch_satterthwaite(traces, [self.freedom, math.inf])
        return Measurement(self.vector, self.covariance + known, freedom)

    def likelihood(self, predicted: Floats, spread: Floats) -> float:
        """Of a predicted vector with a spread (covariance) of its own: a density, mm^-2."""
        return float(self.likelihoods(predicted[None, :], spread[None, :, :])[0])

    def likelihoods(self, predicted: Floats, spread: Floats) -> Floats:
        """Of many: (n, 2) and (n, 2, 2) give (n,), by the bivariate Student (or normal) density."""
        square, determinant = _squares(self.vector - predicted, self.covariance + spread)
        scale = 2.0 * math.pi * np.sqrt(determinant)
        if math.isinf(self.freedom):
            return np.asarray(np.exp(-square / 2.0) / scale)
        power = self.freedom / 2.0 + 1.0
        return np.asarray(np.exp(-power * np.log1p(square / self.freedom)) / scale)


def unlike(gaps: Floats, covariances: Floats) -> Floats:
    """How surely gaps between two expected shifts, mm, (n, 2), would be noticed, from 0 for none to 1, (n,):
    what is lost of the likelihood where one is taken for the other. covariances: mm^2, (n, 2, 2)."""
    return np.asarray(-np.expm1(-_squares(gaps, covariances)[0] / 2.0))


def _squares(vectors: Floats, covariances: Floats) -> tuple[Floats, Floats]:
    """Squared lengths in standard deviations, (n,), and determinants of the covariances, mm^4, (n,)."""
    variances, axes = np.linalg.eigh(covariances)
    variances = np.maximum(variances, 1e-12)
    return (np.einsum("nji,nj->ni", axes, vectors) ** 2 / variances).sum(axis=1), variances.prod(axis=1)
