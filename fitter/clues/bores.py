"""How well bores of every usual kind explain some readings, so that another explanation can be weighed
against.

A reading is c + E.u(th) + out of round + drift + noise, each part normal about nothing with a size of its
own. Where a size is not known beforehand it is one of a few, and all combinations (worlds) are kept beside
each other
with their weights: for each the readings are one draw from a normal distribution (C. E. Rasmussen and C. K.
I. Williams, Gaussian Processes for Machine Learning, 2006, equation 2.30). Sizes in thou, TIR aside, are
common practice, no source.
"""

import math
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np

from ..numeric.basis import Floats
from ..numeric.quantiles import log_normal_below
from ..reading.stations import Ints
from ..units import MM_PER_THOU

_MEAN: Final = 20.0
_OFFSETS: Final = ((0.6, 0.3), (2.0, 0.35), (6.0, 0.35))
_OVALS: Final = ((0.2, 0.35), (0.7, 0.4), (2.2, 0.25))
_LOBES: Final = ((0.2, 0.6), (0.8, 0.4))
_DRIFTS: Final = ((0.15, 0.65), (1.2, 0.35))
_NOISES: Final = ((0.05, 0.2), (0.15, 0.35), (0.4, 0.3), (1.2, 0.15))
"""Standard deviations in thou and how often they are met: of the dial's zero, of each coordinate of the
offset, of each coefficient of the oval, of three lobes (falling with their number), of drift over the
sweep, of noise."""

_FALLS: Final = {3: 1.0, 4: 0.6} | {k: 0.6 * (4.0 / k) ** 2 for k in range(5, 11)}
"""Size of a lobe's coefficients by their number, that of three lobes being one."""


@dataclass(frozen=True, slots=True)
class Worlds:
    """What may be read at n stations in each of g worlds: covariance without noise, mm^2 (g, n, n);
    variance of noise, mm^2 (g,); logarithm of the weight (g,)."""

    covariance: Floats
    noise: Floats
    weight: Floats

    @classmethod
    def at(cls, deg: Floats, t: Floats) -> "Worlds":
        """Of stations at these angles, degrees, and times, s."""
        rad = np.deg2rad(deg)
        apart = rad[:, None] - rad[None, :]
        gone = (t - t[0]) / max(float(t[-1] - t[0]), 1e-9)
        settled = 1.0 - np.exp(-4.0 * gone)
        drift = (np.outer(gone, gone) + np.outer(settled, settled)) / 2.0
        lobes = sum((size**2 * np.cos(k * apart) for k, size in _FALLS.items()), np.zeros_like(apart))
        parts = (np.cos(apart), np.cos(2.0 * apart), lobes, drift)
        covariances, noises, weights = [], [], []
        for *sizes, (noise, often) in product(_OFFSETS, _OVALS, _LOBES, _DRIFTS, _NOISES):
            covariance = np.full_like(apart, _MEAN**2)
            for part, (size, share) in zip(parts, sizes, strict=True):
                covariance = covariance + size**2 * part
                often *= share
            covariances.append(covariance)
            noises.append(noise**2)
            weights.append(math.log(often))
        scale = MM_PER_THOU**2
        return cls(scale * np.array(covariances), scale * np.array(noises), np.array(weights))

    def log_density(self, value: Floats, blur: Floats) -> Floats:
        """Logarithm of the density of readings `value` (n,), mm, with the weight of each world: (g,). blur:
        variance of each reading beside noise, mm^2 (n,)."""
        whole = self.covariance + (self.noise[:, None] + blur)[:, :, None] * np.eye(len(value))
        factor = np.linalg.cholesky(whole)
        centred = np.broadcast_to((value - np.median(value))[:, None], (len(whole), len(value), 1))
        scaled = np.linalg.solve(factor, centred)[:, :, 0]
        spread = 2.0 * np.log(np.diagonal(factor, axis1=1, axis2=2)).sum(axis=1)
        density: Floats = (
            self.weight - ((scaled * scaled).sum(axis=1) + spread + len(value) * _LOG_TWO_PI) / 2.0
        )
        return density

    def explains(self, value: Floats, blur: Floats) -> float:
        """The same, summed over all worlds."""
        return log_sum(self.log_density(value, blur))

    def some(self, which: Ints) -> "Worlds":
        """At some of the stations: their indices (m,)."""
        return Worlds(self.covariance[:, which[:, None], which[None, :]], self.noise, self.weight)

    def explains_beyond(self, value: Floats, blur: Floats, known: Ints, level: Floats) -> float:
        """Logarithm of: the density of the readings `known` (their indices), times the chance that at the
        other stations, in order, the bore reads no more than `level`, mm. Worlds that explain next to
        nothing are left out."""
        here = self.some(known).log_density(value[known], blur[known])
        best = np.argsort(here, kind="stable")[-_BEST:]
        other = np.setdiff1d(np.arange(len(value)), known)
        covariance, middle = self.covariance[best], float(np.median(value[known]))
        whole = covariance[:, known[:, None], known[None, :]]
        whole = whole + (self.noise[best][:, None] + blur[known])[:, :, None] * np.eye(len(known))
        across = covariance[:, other[:, None], known[None, :]]
        gain = np.swapaxes(np.linalg.solve(whole, np.swapaxes(across, 1, 2)), 1, 2)
        mean = gain @ (value[known] - middle) + middle
        spread = covariance[:, other[:, None], other[None, :]] - gain @ np.swapaxes(across, 1, 2)
        spread = spread + self.noise[best][:, None, None] * np.eye(len(other))
        return log_sum(here[best] + log_below(mean, spread, level))


def log_below(mean: Floats, covariance: Floats, level: Floats) -> Floats:
    """Logarithm of the chance that no part of a normal vector is above its level (k,): means (g, k),
    covariances (g, k, k), answers (g,). One part after the other is bounded, what is left being taken for
    normal with the moments of the bounded one (assumed density filtering; T. Minka, 2001): good to some per
    cent of a chance, which is far more than a doubt needs."""
    mean, covariance = mean.copy(), covariance.copy()
    total = np.zeros(len(mean))
    for k in range(mean.shape[1]):
        variance = np.maximum(covariance[:, k, k], 1e-12)
        sd = np.sqrt(variance)
        at = np.clip((level[k] - mean[:, k]) / sd, -30.0, 30.0)
        below = log_normal_below(at)
        total += below
        hazard = np.exp(-at * at / 2.0 - _LOG_TWO_PI / 2.0 - below)
        gain = covariance[:, :, k] / variance[:, None]
        lost = variance * hazard * (at + hazard)
        mean -= gain * (sd * hazard)[:, None]
        covariance -= gain[:, :, None] * gain[:, None, :] * lost[:, None, None]
    return total


def log_sum(logs: Floats) -> float:
    """Logarithm of the sum of what these are logarithms of."""
    most = float(logs.max())
    return most + math.log(float(np.exp(logs - most).sum()))


def odds(for_it: float, against: float, prior: float) -> float:
    """Logarithm of the odds of one of two explanations, by the logarithms of how well each explains, and
    how often it is met."""
    return for_it - against + math.log(prior / (1.0 - prior))


_LOG_TWO_PI: Final = math.log(2.0 * math.pi)
_BEST: Final = 30
