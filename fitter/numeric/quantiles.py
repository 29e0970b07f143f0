"""Quantiles that the error bars need. scipy.special is loaded at the first use: it costs a tenth
of a second that neither `--help` nor the first screen should pay.
"""

import math
from functools import cache

import numpy as np

from .basis import Floats

MANY = 1e6
"""Degrees of freedom from which a Student distribution is as good as normal."""


@cache
def t_quantile(p: float, freedom: float) -> float:
    """Student's t at probability `p` (0.975 for a two-sided 95 %), `freedom` degrees (may be inf)."""
    from scipy.special import stdtrit

    return float(stdtrit(min(freedom, MANY), p))


@cache
def plane_factor(p: float, freedom: float) -> float:
    """Radius, in standard deviations, of the region of a plane that holds probability `p`.

    sqrt(2 F(p; 2, freedom)); the F quantile with 2 degrees above has a closed form.
    """
    tail = 1.0 - p
    if freedom >= MANY:
        return math.sqrt(-2.0 * math.log(tail))
    return math.sqrt(freedom * (tail ** (-2.0 / freedom) - 1.0))


def t_below(x: Floats, freedom: float) -> Floats:
    """Probability that a Student variate lies below x."""
    from scipy.special import ndtr, stdtr

    if freedom >= MANY:
        return np.asarray(ndtr(x), dtype=np.float64)
    return np.asarray(stdtr(freedom, x), dtype=np.float64)


def t_density(x: Floats, freedom: float) -> Floats:
    """Density of a Student variate at x."""
    if freedom >= MANY:
        return np.asarray(np.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi))
    log_scale = (
        math.lgamma((freedom + 1.0) / 2.0) - math.lgamma(freedom / 2.0) - 0.5 * math.log(freedom * math.pi)
    )
    return np.asarray(np.exp(log_scale - (freedom + 1.0) / 2.0 * np.log1p(x * x / freedom)))
