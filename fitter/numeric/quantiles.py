"""Distributions that the error bars need: normal, Student, gamma, F with 2 degrees above; mixtures by size.

Our own, to twelve figures or better, because the library that has them takes longer to load than a
sweep takes to fit. Tails are computed as tails, so a chance of 1e-30 is as good as one of a half.
"""

import math
from functools import cache, lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from .basis import Floats

MANY = 1e6
"""Degrees of freedom from which a Student distribution is as good as normal."""

_TINY: Final = 1e-300
_ENOUGH: Final = 2e-16
_MOST_TERMS: Final = 20000
_LARGE: Final = 60.0
_NEXT_IS_EXACT: Final = 1e-9
"""A step of Newton's so small leaves an error of its square."""
_STEP: Final = 0.015
_TABLE_END: Final = 21.0
"""sinh of it is half a billion: beyond, nothing is left of any distribution that readings give."""

_EVEN: Final = np.arange(-4.4, 3.65, 0.04)
_Z: Final = np.exp(_EVEN - np.exp(-_EVEN))
_SHARES: Final = 0.04 * _Z * (1.0 + np.exp(-_EVEN)) * np.exp(-_Z)
"""Nodes and weights of the double exponential rule for an integral of e^-z."""


@cache
def t_quantile(p: float, freedom: float) -> float:
    """Student's t at probability 0.5 < p < 1 (0.975 for a two-sided 95 %), `freedom` degrees (may be inf)."""
    # For no end of degrees it is that of a million, a part in a million more than the normal one: so it
    # stands in the results that were stored.
    freedom = min(freedom, math.nextafter(MANY, 0.0))
    # Newton on log tail against log t: concave, so that once beyond the goal it does not pass it again.
    t, tail = 1.0, 1.0 - p
    for _ in range(100):
        beyond = float(t_below(np.array([-t]), freedom)[0])
        slope = t * float(t_density(np.array([t]), freedom)[0]) / beyond
        step = math.log(beyond / tail) / slope
        t *= math.exp(min(step, 1.0))
        if abs(step) < _NEXT_IS_EXACT:
            break
    return t


@cache
def plane_factor(p: float, freedom: float) -> float:
    """Radius, in standard deviations, of the region of a plane that holds probability `p`.

    sqrt(2 F(p; 2, freedom)); the F quantile with 2 degrees above has a closed form.
    """
    tail = 1.0 - p
    if freedom >= MANY:
        return math.sqrt(-2.0 * math.log(tail))
    return math.sqrt(freedom * (tail ** (-2.0 / freedom) - 1.0))


def plane_tail(radius: float, freedom: float) -> float:
    """Probability that lies beyond `radius`: `plane_factor` the other way round."""
    if freedom >= MANY:
        return math.exp(-radius * radius / 2.0)
    return math.exp(-freedom / 2.0 * math.log1p(radius * radius / freedom))


def t_below(x: Floats, freedom: float) -> Floats:
    """Probability that a Student variate lies below x, shape of x.

    Counted by z, where 1 + x^2 / f has grown by e^(2 z / f), the tail is an integral of e^-z times a root: by
    the double exponential rule, to which it is all one how singular its end is (H. Takahasi, M. Mori, Publ.
    RIMS 9 (1974) 721-741; from memory).
    """
    x = np.asarray(x, dtype=np.float64)
    if freedom >= MANY:
        return normal_below(x)
    square = (x * x)[..., None]
    far = np.sqrt(square + (freedom + square) * np.expm1(2.0 * _Z / freedom))
    tail = ((_SHARES * np.exp(_Z / freedom)) / far).sum(axis=-1)
    beyond = t_density(x, freedom) * (1.0 + x * x / freedom) * tail
    return np.asarray(np.where(x > 0.0, 1.0 - beyond, beyond))


def t_below_many(x: Floats, freedom: float) -> Floats:
    """`t_below` for many x at once, to 1e-9: cubics between the points of a table, which meet it in value and
    in slope, for the slope is the density."""
    if freedom >= MANY:
        return normal_below(x)
    values, slopes = _t_table(freedom)
    at = np.minimum(np.arcsinh(np.abs(x)) / _STEP, len(values) - 1.000001)
    k = at.astype(np.intp)
    u = at - k
    back = 1.0 - u
    above = (back * back * ((1.0 + 2.0 * u) * values[k] + u * slopes[k])
             + u * u * ((3.0 - 2.0 * u) * values[k + 1] - back * slopes[k + 1]))  # fmt: skip
    return np.where(x > 0.0, above, 1.0 - above)


@lru_cache(maxsize=64)
def _t_table(freedom: float) -> tuple[Floats, Floats]:
    """Student's distribution function at sinh of even steps, and its slope times the step: the density summed
    up from the middle, by Simpson's rule."""
    at = np.arange(0.0, _TABLE_END, _STEP / 2.0)
    slopes = t_density(np.sinh(at), freedom) * np.cosh(at) * _STEP
    panels = (slopes[:-2:2] + 4.0 * slopes[1:-1:2] + slopes[2::2]) / 6.0
    return 0.5 + np.append(0.0, np.cumsum(panels)), slopes[::2]


def t_density(x: Floats, freedom: float) -> Floats:
    """Density of a Student variate at x."""
    if freedom >= MANY:
        return np.asarray(np.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi))
    scale = _gamma_ratio(freedom / 2.0) / math.sqrt(freedom * math.pi)
    return np.asarray(scale * np.exp(-(freedom + 1.0) / 2.0 * np.log1p(x * x / freedom)))


def gamma_quantile(p: Floats, shape: float) -> Floats:
    """Where a gamma variate of this shape and of scale 1 lies below with probability 0 < p < 1, (n,).

    Newton's method on log P against log x, which is concave: from where P is still a mere power, and that
    is to the left, it comes ever closer without passing the goal (Handbook, 6.5.29 for the series).
    """
    goal = np.log(p)
    log_x = (goal + math.lgamma(shape + 1.0)) / shape
    for _ in range(100):
        x = np.exp(log_x)
        log_rise = _log_gamma_density(x, shape)
        term = terms = np.ones_like(x)
        for n in range(1, _MOST_TERMS):
            term = term * x / (shape + n)
            terms = terms + term
            if not (term > _ENOUGH * terms).any():
                break
        # P = x f terms / shape, so that d log P / d log x = shape / terms.
        step = (goal - log_rise - np.log(terms)) * terms / shape
        log_x = log_x + step
        if float(np.abs(step).max()) < _NEXT_IS_EXACT:
            break
    return np.exp(log_x)


def _log_gamma_density(x: Floats, shape: float) -> Floats:
    """log(x^a e^-x / Gamma(a + 1)), for a large a without the difference of large numbers."""
    if shape < _LARGE:
        return np.asarray(shape * np.log(x) - x - math.lgamma(shape + 1.0))
    excess = x / shape - 1.0
    stirling = (1.0 / 12.0 - (1.0 / 360.0 - 1.0 / 1260.0 / shape**2) / shape**2) / shape
    return np.asarray(shape * (np.log1p(excess) - excess) - 0.5 * math.log(2.0 * math.pi * shape) - stirling)


@cache
def _gamma_ratio(a: float) -> float:
    """Gamma(a + 1/2) / Gamma(a)."""
    if a < _LARGE:
        return math.exp(math.lgamma(a + 0.5) - math.lgamma(a))
    # The ratio of two of Stirling's series (Handbook, 6.1.47).
    return math.sqrt(a) * float(np.polyval(_RATIO, 1.0 / a))


def normal_below(x: Floats) -> Floats:
    """Probability that a normal variate lies below x."""
    return _normal_beyond(-np.asarray(x, dtype=np.float64))


def log_normal_below(x: Floats) -> Floats:
    """Its logarithm, precise on both sides: x > -37."""
    beyond = _normal_beyond(np.abs(x))
    return np.where(x > 0.0, np.log1p(-beyond), np.log(np.maximum(beyond, _TINY)))


def _normal_beyond(x: Floats) -> Floats:
    """Probability that a normal variate lies beyond x: half of erfc(x / sqrt 2), a number at a time. That is
    quicker than arrays through a rational approximation's fifty steps, of a few and of many."""
    each = map(math.erfc, (x / math.sqrt(2.0)).ravel().tolist())
    return 0.5 * np.fromiter(each, np.float64, x.size).reshape(x.shape)


def bins_of_size(sizes: Floats, like: float) -> NDArray[np.int64]:
    """The bin of each part of a mixture, (m,), from nought on: those of a bin differ by less than `like` in
    the logarithm of their size (m,), whatever the last bits say."""
    at = np.floor(np.round(np.log(sizes) / like, 7)).astype(np.int64)
    return np.asarray(at - at.min(initial=0))


_RATIO = (869 / 4194304, -399 / 262144, -21 / 32768, 5 / 1024, 1 / 128, -1 / 8, 1.0)
