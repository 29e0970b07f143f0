"""Effective degrees of freedom of a vector whose scatter is judged from few stations and whose other
errors are known beforehand.

The formula of Welch and Satterthwaite (JCGM 100:2008, G.4.1) is for one quantity; a vector may have
a known error one way (sag) and a judged one the other. So the 95 % region is asked itself: its
radius is found by averaging over what the scatter may truly be, and the degrees of freedom are those
of the Student distribution with that radius.
"""

import math
from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np

from ..numeric.basis import Floats
from ..numeric.quantiles import MANY, gamma_quantile, plane_factor

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(48)
_SWINGS = np.cos((np.arange(16) + 0.5) / 16.0 * math.pi)
"""How a variance swings over a quarter of a turn in its ellipse's own axes, which holds all there is."""
_P = 0.95

_NEAR, _MOST_ASKED = 1e-10, 100

_LIKELY = math.log(5.0)
"""Degrees of freedom, as a logarithm, that are tried first."""

_HEAVY = 3.0
"""Degrees of freedom of the Student error whose shape is taken: rare and far parts stretch it little."""

_ROUNDS = 4


def welch_satterthwaite(variances: Sequence[float], freedoms: Sequence[float]) -> float:
    """Degrees of freedom of a sum of variances, each judged from its own (JCGM 100:2008, G.4.1)."""
    below = sum(v * v / f for v, f in zip(variances, freedoms, strict=True))
    return sum(variances) ** 2 / below if below > 0.0 else math.inf


def effective_freedom(variance: float, freedom: float, fixed: Floats, claimed: Floats) -> float:
    """Degrees of freedom at which `claimed` gives a 95 % region that holds the truth 95 % of the time.

    variance: of a component of the vector, mm^2, judged from `freedom` degrees. Its true value, which given
    the data is an inverse chi-square variate, stands beside the fixed covariance (2, 2). claimed: covariance
    to be shown, (2, 2).
    """
    tau = freedom * variance / 2.0 / np.maximum(_drawn(freedom), 1e-300)
    return freedom_beside(_WEIGHTS / 2.0, tau[:, None, None] * np.eye(2) + fixed, claimed, 0.5)


def freedom_beside(weight: Floats, spreads: Floats, claimed: Floats, least: float = 1e-3) -> float:
    """The same of an error of normal parts. weight: shares, (m,). spreads: second moments of each part about
    the vector that is reported, (m, 2, 2). least: of the region's radius, in units of `claimed`."""
    half = whitening(claimed)
    factor = radius(weight, directions(half @ spreads @ half.T), _P, least)
    if factor <= plane_factor(_P, MANY):
        return math.inf
    return _freedom(lambda x: _log_factor(_P, x), factor, least=-2.0)


def summed_up(weight: Floats, spreads: Floats) -> tuple[Floats, float]:
    """Scale matrix (2, 2) and degrees of freedom of a Student error with the same half and the same 95 %.

    weight: shares, (m,). spreads: second moments of each part about the vector that is reported, (m, 2, 2).
    """
    shape = _shape(weight, spreads)
    half = whitening(shape)
    each_way = directions(half @ spreads @ half.T)
    near, far = (radius(weight, each_way, p, 1e-3) for p in (0.5, _P))
    freedom = freedom_of_ratio(far / near)
    return shape * (far / plane_factor(_P, freedom)) ** 2, freedom


def _shape(weight: Floats, spreads: Floats) -> Floats:
    """The scatter of a Student error that fits the parts (J. T. Kent, D. E. Tyler, Ann. Statist. 19 (1991)
    2102-2119; from memory): each counts the less the farther it is."""
    shape = np.tensordot(weight, spreads, 1)
    flat = spreads.reshape(-1, 4)
    for _ in range(_ROUNDS):
        far = flat @ np.linalg.inv(shape).ravel()
        shape = np.tensordot(weight * (_HEAVY + 2.0) / (_HEAVY + far), spreads, 1)
    return np.asarray(shape)


def freedom_of_ratio(ratio: float) -> float:
    """Degrees of freedom of the Student error whose 95 % region is so many times as wide as its half."""
    if ratio <= plane_factor(_P, MANY) / plane_factor(0.5, MANY):
        return math.inf

    def wider(x: float) -> tuple[float, float]:
        (far, falls), (near, less) = _log_factor(_P, x), _log_factor(0.5, x)
        return far - near, falls - less

    return _freedom(wider, ratio, least=-1.0)


def _freedom(log_of: Callable[[float], tuple[float, float]], wanted: float, least: float) -> float:
    """Degrees of freedom at which a factor is as wanted. log_of: it, and its slope, as logarithms of those of
    freedom. least: logarithm of freedom."""

    def short(x: float) -> tuple[float, float]:
        at, slope = log_of(x)
        return at - math.log(wanted), slope

    # Many degrees hang on the last bits of a factor, and mean nothing.
    return math.exp(round(root(short, least, _LIKELY, math.log(MANY)), 4))


def _log_factor(p: float, x: float) -> tuple[float, float]:
    """Logarithm of `plane_factor` by that of the degrees of freedom, and its slope."""
    freedom = math.exp(x)
    z = -2.0 * math.log(1.0 - p) / freedom
    return math.log(plane_factor(p, freedom)), (1.0 + z / math.expm1(-z)) / 2.0


def whitening(covariance: Floats) -> Floats:
    """What makes a vector of this covariance, (2, 2), one of unit covariance."""
    sizes, axes = np.linalg.eigh(covariance)
    # Rounding may leave less than nothing of a direction in which nothing is unsure.
    whitened: Floats = (axes / np.sqrt(np.maximum(sizes, max(1e-12 * sizes[-1], 1e-30)))).T
    return whitened


def directions(covariances: Floats) -> Floats:
    """Of covariances (k, 2, 2) the variances in evenly spread directions, (k, 16)."""
    mean = (covariances[:, 0, 0] + covariances[:, 1, 1]) / 2.0
    swing = np.hypot((covariances[:, 0, 0] - covariances[:, 1, 1]) / 2.0, covariances[:, 0, 1])
    return np.asarray(np.maximum(mean[:, None] + swing[:, None] * _SWINGS, 1e-12))


def radius(weight: Floats, each_way: Floats, p: float, least: float) -> float:
    """Radius of the disc, `least` or more, that holds a mixture of normal vectors with probability p.

    weight: shares, (k,). each_way: their variances by direction, (k, n): a normal vector leaves a disc of
    radius r with the mean over directions of exp(-r^2 / 2 q)."""
    rates, shares = -0.5 / each_way.ravel(), np.repeat(weight / each_way.shape[1], each_way.shape[1])

    def left(squared: float) -> tuple[float, float]:
        each = shares * np.exp(squared * rates)
        held = float(each.sum())
        if not held > 0.0:
            return -math.inf, 0.0
        return math.log(held / (1.0 - p)), float(each @ rates) / held

    # The logarithm is all but straight in r^2, and no end is beyond Chebyshev's.
    mean = 2.0 * float(weight @ each_way.mean(axis=1))
    return math.sqrt(root(left, least**2, -mean * math.log(1.0 - p), mean / (1.0 - p)))


@lru_cache(maxsize=256)
def _drawn(freedom: float) -> Floats:
    """Quantiles of half a chi-square variate at the quadrature's nodes; few sweeps differ in freedom."""
    return gamma_quantile((_NODES + 1.0) / 2.0, freedom / 2.0)


def root(f: Callable[[float], tuple[float, float]], low: float, start: float, high: float) -> float:
    """Zero of a function that falls, by Newton's method from `start`, and by halving where that leaves what
    is known of it. Of one that has no zero between the ends, the nearer end. f: value and slope.

    To seven digits, so that it stands in stored results whatever the last bits say.
    """
    x = max(start, low)
    for _ in range(_MOST_ASKED):
        at, slope = f(x)
        if at > 0.0:
            low = x
        else:
            high = x
        near = x - at / slope if slope < 0.0 else math.inf
        before, x = x, near if low < near < high else (low + high) / 2.0
        if abs(x - before) <= _NEAR * max(abs(x), _NEAR):
            break
    return float(f"{x:.7g}")
