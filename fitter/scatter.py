"""How station readings scatter together, and what that does to a least-squares fit.

Stations that were stopped at err each for itself. Two things tie them together: a closing reading
that is spread over all of them, and, in a continuous sweep, the surface itself: neighbouring
sectors share the form error, the oil film and the state of the hand. A fit that took them for
independent would promise too much.
"""

import math
from collections.abc import Sequence
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


@dataclass(frozen=True, slots=True)
class Sweep:
    """The rows of a fit that one sweep gave. share: of the closing reading's excess taken from each
    station, shape (rows,), where it was. continuous: sectors passed over, not stations stopped at."""

    rows: slice
    share: Floats | None = None
    continuous: bool = False


def of_sweeps(fit: Fit, sweeps: Sequence[Sweep]) -> Scatter:
    """The scatter of a fit to one sweep or several. What ties stations together ties those of one
    sweep: two sweeps share neither a closing reading nor the state of the oil film.

    The sectors of a continuous sweep are tied by a first-order autoregression along the way. Its
    parameter is the one of largest restricted likelihood (H. D. Patterson, R. Thompson,
    Biometrika 58 (1971) 545-554), which does not take the fitted harmonics for noise.
    """
    if fit.freedom < 1:
        return Scatter(math.nan, 0.0, fit.unscaled)
    continuous = [sweep.rows for sweep in sweeps if sweep.continuous]
    phi = _tie(fit, continuous) if continuous else 0.0
    closed = any(sweep.share is not None and not sweep.continuous for sweep in sweeps)
    mixed = 0 < len(continuous) < len(sweeps)
    if phi == 0.0 and not closed and not mixed:
        return Scatter(fit.residual_sum / fit.freedom, float(fit.freedom), fit.unscaled)
    quiet = _sector_variance(fit, sweeps) if mixed else 1.0
    blocks: list[tuple[slice, Floats]] = []
    for sweep in sweeps:
        if sweep.continuous:
            blocks += [(rows, quiet * V) for rows, V in _tied(sweep.rows, phi)]
        else:
            blocks.append((sweep.rows, _stopped(sweep)))
    judged = _sandwich(fit, blocks)
    return Scatter(judged.variance, judged.freedom, judged.unscaled, phi)


def _stopped(sweep: Sweep) -> Floats:
    """Covariance of stations stopped at, from which a share of the closing reading's excess was taken.

    y'_i = y_i - share_i (y_close - y_0): the same two readings enter every station, so
    cov(y') = I + 2 s s' + s e0' + e0 s' in units of one station's variance.
    """
    covariance = np.eye(sweep.rows.stop - sweep.rows.start)
    if (share := sweep.share) is not None:
        first = np.zeros(len(share))
        first[0] = 1.0
        covariance += 2.0 * np.outer(share, share)
        covariance += np.outer(share, first) + np.outer(first, share)
    return covariance


def _tied(rows: slice, phi: float) -> list[tuple[slice, Floats]]:
    """Covariance of the sectors of one continuous sweep, a turn's worth at a time."""
    blocks = []
    for start in range(rows.start, rows.stop, _BLOCK):
        block = slice(start, min(start + _BLOCK, rows.stop))
        along = np.arange(block.stop - block.start)
        blocks.append((block, phi ** np.abs(np.subtract.outer(along, along))))
    return blocks


def _tie(fit: Fit, sweeps: list[slice]) -> float:
    """Correlation of neighbouring sectors, from all continuous sweeps at once."""
    if fit.freedom < 10:
        return 0.0
    likelihoods = [_restricted_likelihood(fit, sweeps, float(phi)) for phi in _GRID]
    return float(_GRID[int(np.argmax(likelihoods))])


def _sector_variance(fit: Fit, sweeps: Sequence[Sweep]) -> float:
    """How much less (or more) a sector scatters than a station stopped at, as a ratio of variances."""
    leverage = ((fit.design @ fit.unscaled) * fit.design).sum(axis=1)
    sums = {True: 0.0, False: 0.0}
    freedom = {True: 0.0, False: 0.0}
    for sweep in sweeps:
        sums[sweep.continuous] += float((fit.residuals[sweep.rows] ** 2).sum())
        freedom[sweep.continuous] += float((1.0 - leverage[sweep.rows]).sum())
    if min(freedom.values()) < 2.0 or min(sums.values()) <= 0.0:
        return 1.0
    return (sums[True] / freedom[True]) / (sums[False] / freedom[False])


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


def _restricted_likelihood(fit: Fit, sweeps: list[slice], phi: float) -> float:
    """Log restricted likelihood of the autoregression, up to a constant."""
    root = math.sqrt(1.0 - phi * phi)

    def whiten(columns: Floats) -> Floats:
        parts = []
        for rows in sweeps:
            part = columns[rows].copy()
            part[1:] = (part[1:] - phi * columns[rows][:-1]) / root
            parts.append(part)
        return np.concatenate(parts)

    X, r = whiten(fit.design), whiten(fit.residuals)
    Q, R = np.linalg.qr(X)
    rest = r - Q @ (Q.T @ r)
    n, p = X.shape
    # The whitening scales all but the first row of each sweep by 1 / root.
    log_correlation = 2.0 * (n - len(sweeps)) * math.log(root)
    diagonal = np.abs(np.diag(R))
    # Beside stations stopped at, some columns belong to those alone.
    log_information = 2.0 * float(np.log(diagonal[diagonal > 1e-9 * diagonal.max()]).sum())
    total = max(float(rest @ rest), 1e-300)
    return float(-0.5 * ((n - p) * math.log(total) + log_correlation + log_information))
