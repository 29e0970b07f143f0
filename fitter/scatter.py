"""How station readings scatter together, and what that does to a least-squares fit.

Stations that were stopped at err each for itself. Two things tie them together: a closing reading
that is spread over all of them, and, in a continuous sweep, the surface itself: neighbouring
sectors share the form error, the oil film and the state of the hand. A fit that took them for
independent would promise too much.
"""

import math
from dataclasses import dataclass

import numpy as np

from .basis import Floats
from .model import Fit

_BLOCK = 72
"""Sectors further apart than a turn share nothing worth counting."""

_GRID = np.linspace(0.0, 0.95, 20)


@dataclass(frozen=True, slots=True)
class Scatter:
    """variance: of one station about the model, mm^2 (nan with no station to spare). freedom: degrees
    it was judged from. unscaled: covariance of the coefficients for unit variance, (p, p).
    neighbours: correlation of neighbouring stations."""

    variance: float
    freedom: float
    unscaled: Floats
    neighbours: float = 0.0


def independent(fit: Fit) -> Scatter:
    """Stations that err each for itself."""
    if fit.freedom < 1:
        return Scatter(math.nan, 0.0, fit.unscaled)
    return Scatter(fit.residual_sum / fit.freedom, float(fit.freedom), fit.unscaled)


def with_closing(fit: Fit, share: Floats) -> Scatter:
    """Stations from which a share of the closing reading's excess was taken.

    y'_i = y_i - share_i (y_close - y_0): the same two readings enter every station, so
    cov(y') = I + 2 s s' + s e0' + e0 s' in units of one station's variance.
    """
    if fit.freedom < 1:
        return Scatter(math.nan, 0.0, fit.unscaled)
    first = np.zeros(len(share))
    first[0] = 1.0
    covariance = np.eye(len(share)) + 2.0 * np.outer(share, share)
    covariance += np.outer(share, first) + np.outer(first, share)
    return _sandwich(fit, [(slice(None), covariance)])


def along_the_sweep(fit: Fit) -> Scatter:
    """Sectors of a continuous sweep: a first-order autoregression along the way.

    Its parameter is the one of largest restricted likelihood (H. D. Patterson, R. Thompson,
    Biometrika 58 (1971) 545-554), which does not take the fitted harmonics for noise.
    """
    if fit.freedom < 10:
        return independent(fit)
    likelihoods = [_restricted_likelihood(fit, float(phi)) for phi in _GRID]
    phi = float(_GRID[int(np.argmax(likelihoods))])
    n = len(fit.residuals)
    blocks = []
    for start in range(0, n, _BLOCK):
        block = slice(start, min(start + _BLOCK, n))
        apart = np.abs(np.subtract.outer(np.arange(n)[block], np.arange(n)[block]))
        blocks.append((block, phi**apart))
    judged = _sandwich(fit, blocks)
    return Scatter(judged.variance, judged.freedom, judged.unscaled, phi)


def _sandwich(fit: Fit, blocks: list[tuple[slice, Floats]]) -> Scatter:
    """Ordinary least squares under a covariance V of blocks: the fit stays, its certainty changes.

    cov(b) = G X'VX G with G = (X'X)^-1; the residual sum has expectation tr(MV), and its degrees of
    freedom are tr(MV)^2 / tr(MVMV) (F. E. Satterthwaite, Biometrics 2 (1946) 110-114).
    """
    X, G = fit.design, fit.unscaled
    XVX, XVVX = np.zeros_like(G), np.zeros_like(G)
    trace = squares = 0.0
    for block, V in blocks:
        VX = V @ X[block]
        XVX += X[block].T @ VX
        XVVX += VX.T @ VX
        trace += float(np.trace(V))
        squares += float((V * V).sum())
    GXVX = G @ XVX
    expected = trace - float(np.trace(GXVX))
    twice = squares - 2.0 * float(np.trace(G @ XVVX)) + float(np.trace(GXVX @ GXVX))
    return Scatter(fit.residual_sum / expected, expected**2 / twice, GXVX @ G)


def _restricted_likelihood(fit: Fit, phi: float) -> float:
    """Log restricted likelihood of the autoregression, up to a constant."""
    root = math.sqrt(1.0 - phi * phi)

    def whiten(columns: Floats) -> Floats:
        out = columns.copy()
        out[1:] = (columns[1:] - phi * columns[:-1]) / root
        return out

    X, r = whiten(fit.design), whiten(fit.residuals)
    Q, R = np.linalg.qr(X)
    rest = r - Q @ (Q.T @ r)
    n, p = X.shape
    # The whitening scales all but the first row by 1 / root.
    log_correlation = 2.0 * (n - 1) * math.log(root)
    log_information = 2.0 * float(np.log(np.abs(np.diag(R))).sum())
    total = max(float(rest @ rest), 1e-300)
    return float(-0.5 * ((n - p) * math.log(total) + log_correlation + log_information))
