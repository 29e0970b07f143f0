"""How likely a measured shift is, if another was to be expected."""

import math
from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats


@dataclass(frozen=True, slots=True, eq=False)
class Measurement:
    """The measured shift (x, y), mm, with its covariance, mm^2, and degrees of freedom."""

    shift: Floats
    covariance: Floats
    freedom: float

    def likelihood(self, predicted: Floats, spread: Floats) -> float:
        """Of a predicted shift with a spread (covariance) of its own: a density, mm^-2."""
        return float(self.likelihoods(predicted[None, :], spread[None, :, :])[0])

    def likelihoods(self, predicted: Floats, spread: Floats) -> Floats:
        """Of many: (n, 2) and (n, 2, 2) give (n,)."""
        return _densities(self.shift - predicted, self.covariance + spread, self.freedom)


def unlike(gaps: Floats, covariances: Floats) -> Floats:
    """How surely gaps between two expected shifts, mm, (n, 2), would be noticed, from 0 for none to 1, (n,):
    what is lost of the likelihood where one is taken for the other. covariances: mm^2, (n, 2, 2)."""
    return np.asarray(-np.expm1(-_squares(gaps, covariances)[0] / 2.0))


def _squares(vectors: Floats, covariances: Floats) -> tuple[Floats, Floats]:
    """Squared lengths in standard deviations, (n,), and determinants of the covariances, mm^4, (n,)."""
    variances, axes = np.linalg.eigh(covariances)
    variances = np.maximum(variances, 1e-12)
    return (np.einsum("nji,nj->ni", axes, vectors) ** 2 / variances).sum(axis=1), variances.prod(axis=1)


def _densities(vectors: Floats, covariances: Floats, freedom: float) -> Floats:
    """Bivariate Student (or normal) densities, mm^-2, (n,); vectors (n, 2), covariances (n, 2, 2)."""
    square, determinant = _squares(vectors, covariances)
    scale = 2.0 * math.pi * np.sqrt(determinant)
    if math.isinf(freedom):
        return np.asarray(np.exp(-square / 2.0) / scale)
    return np.asarray(np.exp(-(freedom / 2.0 + 1.0) * np.log1p(square / freedom)) / scale)
