"""Logarithms of chances: of sums, and of normal vectors that are bounded."""

import math
from typing import Final

import numpy as np

from .basis import Floats
from .quantiles import log_normal_below

LOG_TWO_PI: Final = math.log(2.0 * math.pi)


def log_below(mean: Floats, covariance: Floats, level: Floats) -> tuple[Floats, Floats, Floats]:
    """Logarithm of the chance that none of the first k parts of a normal vector is above its level (k,):
    means (g, n), covariances (g, n, n), answers (g,); and the moments of the other parts then. One part after
    the other is bounded, what is left being taken for normal with the moments of the bounded one (assumed
    density filtering; T. Minka, 2001): good to some per cent of a chance, which is far more than a doubt
    needs."""
    mean, covariance = mean.copy(), covariance.copy()
    total = np.zeros(len(mean))
    for k in range(len(level)):
        variance = np.maximum(covariance[:, k, k], 1e-12)
        sd = np.sqrt(variance)
        at = np.clip((level[k] - mean[:, k]) / sd, -30.0, 30.0)
        below = log_normal_below(at)
        total += below
        hazard = np.exp(-at * at / 2.0 - LOG_TWO_PI / 2.0 - below)
        gain = covariance[:, :, k] / variance[:, None]
        lost = variance * hazard * (at + hazard)
        mean -= gain * (sd * hazard)[:, None]
        covariance -= gain[:, :, None] * gain[:, None, :] * lost[:, None, None]
    k = len(level)
    return total, mean[:, k:], covariance[:, k:, k:] + 1e-12 * np.eye(mean.shape[1] - k)


def log_sum(logs: Floats) -> float:
    """Logarithm of the sum of what these are logarithms of."""
    most = float(logs.max())
    return most + math.log(float(np.exp(logs - most).sum()))
