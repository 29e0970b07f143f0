"""An error of the vector as a mixture of normal parts, and what is read off it: half-widths and chances.

What it holds is counted part by part, by quadrature; no single distribution stands for it.
"""

import math
from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats
from ..numeric.quantiles import bins_of_size, normal_below
from .freedom import root

_LIKE = 0.15
"""Logarithm by which the variances of parts may differ that are put together."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)

_FAR = 6.0
"""Standard deviations beyond which nothing is left of a normal part."""

_P, _USUAL = 0.95, 1.96
"""What an interval holds, and how many standard deviations of a normal error that are each way."""

_LEAST_MM = 1e-9
"""A billionth of a millimetre is nothing, and divides nothing by zero."""


@dataclass(frozen=True, slots=True)
class Normals:
    """The true vector (x, y) less the one that is reported, mm.

    weight: share of each part, (m,), their sum is one. mean: (m, 2). covariance: (m, 2, 2), mm^2.
    """

    weight: Floats
    mean: Floats
    covariance: Floats

    @property
    def spreads(self) -> Floats:
        """Second moments of each part about the vector that is reported, (m, 2, 2), mm^2."""
        return np.asarray(self.covariance + self.mean[:, :, None] * self.mean[:, None, :])

    def beside(self, known: Floats) -> "Normals":
        """With a further normal error of this covariance, (2, 2)."""
        return Normals(self.weight, self.mean, self.covariance + known)

    def binned(self) -> "Normals":
        """Parts of like size put together."""
        x, y = self.mean.T
        rows = np.stack([x, y, *np.moveaxis(self.spreads, 0, -1).reshape(4, -1)])
        whole = np.linalg.pinv((rows[2:] @ self.weight).reshape(2, 2))
        bins = bins_of_size(np.maximum(whole.ravel() @ rows[2:], 1e-12), _LIKE)
        total = np.bincount(bins, self.weight)
        there = total > 0.0
        total = total[there]
        moments = np.array([np.bincount(bins, self.weight * row)[there] for row in rows]).T / total[:, None]
        mean = moments[:, :2]
        about = moments[:, 2:].reshape(-1, 2, 2) - mean[:, :, None] * mean[:, None, :]
        return Normals(total / self.weight.sum(), mean, about)

    def half_width(self, towards: Floats) -> float:
        """Of the 95 % interval of the component along a unit vector (2,), about the one that is reported."""
        mean = self.mean @ towards
        variance = np.maximum(np.einsum("i,mij,j->m", towards, self.covariance, towards), _LEAST_MM**2)
        rate, shares = np.tile(1.0 / np.sqrt(variance), 2), np.tile(self.weight / (1.0 - _P), 2)
        middle = np.concatenate([mean, -mean]) * rate

        def missed(squared: float) -> tuple[float, float]:
            reach = math.sqrt(squared)
            off = middle - reach * rate
            left = float(shares @ normal_below(off))
            if not left > 0.0:
                return -math.inf, 0.0
            density = float((shares * rate) @ np.exp(-0.5 * off * off)) / math.sqrt(2.0 * math.pi)
            return math.log(left), -density / left / (2.0 * reach)

        spread = float(self.weight @ (variance + mean**2))
        return math.sqrt(root(missed, 0.0, _USUAL**2 * spread, spread / (1.0 - _P)))

    def reach(self, axes: Floats) -> Floats:
        """Squares of half-widths as a quadratic form in two axes, the rows of (2, 2): that of the 95 %
        intervals along them and halfway between."""
        first, second, between = (
            self.half_width(one) ** 2 for one in (*axes, (axes[0] + axes[1]) / math.sqrt(2.0))
        )
        askew = between - (first + second) / 2.0
        return np.array([[first, askew], [askew, second]])

    def within(self, reach: float, vector: Floats) -> float:
        """Probability that the true vector lies within `reach` of the origin where `vector` is reported.

        Across each part's narrow axis by Gauss and Legendre; along the other one a chord is a difference of
        two distribution functions.
        """
        if not reach > 0.0:
            return 0.0
        variances, axes = np.linalg.eigh(self.covariance)
        sd = np.sqrt(np.maximum(variances, (1e-9 * reach) ** 2))
        narrow, wide = np.einsum("mji,mj->im", axes, self.mean + vector)
        # x = R sin(a) takes the square root out of the chord's ends.
        low, high = (np.clip((narrow + side * sd[:, 0]) / reach, -1.0, 1.0) for side in (-_FAR, _FAR))
        first, half = np.arcsin(low), (np.arcsin(high) - np.arcsin(low)) / 2.0
        a = (first + half)[:, None] + half[:, None] * _NODES
        chord = reach * np.cos(a)
        z = (reach * np.sin(a) - narrow[:, None]) / sd[:, :1]
        density = np.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi) / sd[:, :1]
        share = normal_below((chord - wide[:, None]) / sd[:, 1:])
        share -= normal_below((-chord - wide[:, None]) / sd[:, 1:])
        inside = half * ((density * share * chord) @ _WEIGHTS)
        return min(max(float(self.weight @ inside), 0.0), 1.0)
