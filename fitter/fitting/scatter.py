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

from ..numeric.basis import Floats
from .model import Fit

_BLOCK = 72
"""Sectors further apart than a turn share nothing worth counting."""

_FEW = 32
"""Stations of which a table of n by n is no matter."""

_GRID = np.linspace(0.0, 0.95, 20)


@dataclass(frozen=True, slots=True)
class Scatter:
    """How the readings lie about the model.

    variance: of one station about the model, mm^2 (nan with no station to spare).
    freedom: degrees it was judged from.
    unscaled: covariance of the coefficients for unit variance, (p, p).
    neighbours: correlation of neighbouring stations.
    tied: covariance of the stations for unit variance, (n, n), where there are few of them and they do not
        err each for itself.
    """

    variance: float
    freedom: float
    unscaled: Floats
    neighbours: float = 0.0
    tied: Floats | None = None


@dataclass(frozen=True, slots=True)
class Sweep:
    """The rows of a fit that one sweep gave.

    share: of the closing reading's excess taken from each station, shape (rows,), where it was.
    continuous: sectors passed over, not stations stopped at.
    """

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
    closed = any(sweep.share is not None for sweep in sweeps)
    mixed = 0 < len(continuous) < len(sweeps)
    if phi == 0.0 and not closed and not mixed:
        return Scatter(fit.residual_sum / fit.freedom, float(fit.freedom), fit.unscaled)
    ratio = _sector_variance(fit, sweeps) if mixed else 1.0
    return _sandwich(
        fit,
        [_Covariance(s, phi if s.continuous else 0.0, ratio if s.continuous else 1.0) for s in sweeps],
        phi,
    )


class _Covariance:
    """Covariance V of the stations of one sweep in units of a station's variance, never written out whole:
    V = B + U K U', B in blocks of a turn.

    Of a closing reading, y'_i = y_i - share_i (y_close - y_0): the same two readings enter every
    station, so V gains s c' + c s' + v s s', where c_i = cov(y_i, y_0 - y_close) and v is the variance
    of that difference.
    """

    def __init__(self, sweep: Sweep, phi: float, scale: float) -> None:
        """phi: correlation of neighbours; scale: variance of each station."""
        self.rows = sweep.rows
        n: int = sweep.rows.stop - sweep.rows.start
        self._n = n
        apart = np.arange(min(n, _BLOCK))
        self._block = scale * phi ** np.abs(np.subtract.outer(apart, apart)).astype(np.float64)
        self._U, self._K = np.zeros((n, 0)), np.zeros((0, 0))
        if sweep.share is not None:
            i = np.arange(n, dtype=np.float64)
            self._U = np.column_stack([sweep.share, scale * (phi**i - phi ** (n - i))])
            self._K = np.array([[2.0 * scale * (1.0 - phi**n), 1.0], [1.0, 0.0]])

    def times(self, X: Floats) -> Floats:
        """V X for X of shape (n, p)."""
        return np.asarray(self._blocks_times(X) + self._U @ (self._K @ (self._U.T @ X)))

    def trace(self) -> float:
        """tr(V)."""
        return float(self._block[0, 0]) * self._n + float(np.trace(self._K @ (self._U.T @ self._U)))

    def squares(self) -> float:
        """tr(VV)."""
        size = len(self._block)
        whole, left = divmod(self._n, size)
        blocks = whole * float(np.square(self._block).sum())
        blocks += float(np.square(self._block[:left, :left]).sum())
        KUU = self._K @ (self._U.T @ self._U)
        UBU = self._U.T @ self._blocks_times(self._U)
        return blocks + 2.0 * float(np.trace(self._K @ UBU)) + float(np.trace(KUU @ KUU))

    def _blocks_times(self, X: Floats) -> Floats:
        size = len(self._block)
        whole = self._n // size * size
        turns = self._block @ X[:whole].reshape(self._n // size, size, X.shape[1])
        left = self._n - whole
        return np.concatenate([turns.reshape(whole, X.shape[1]), self._block[:left, :left] @ X[whole:]])


def _sandwich(fit: Fit, sweeps: Sequence[_Covariance], phi: float) -> Scatter:
    """Ordinary least squares under a covariance V: the fit stays, its certainty changes.

    cov(b) = G X'VX G with G = (X'X)^-1; the residual sum has expectation tr(MV), and its degrees of
    freedom are tr(MV)^2 / tr(MVMV) (F. E. Satterthwaite, Biometrics 2 (1946) 110-114).
    """
    X, G = fit.design, fit.unscaled
    XVX, XVVX = np.zeros_like(G), np.zeros_like(G)
    trace = squares = 0.0
    for sweep in sweeps:
        VX = sweep.times(X[sweep.rows])
        XVX += X[sweep.rows].T @ VX
        XVVX += VX.T @ VX
        trace += sweep.trace()
        squares += sweep.squares()
    GXVX = G @ XVX
    expected = trace - float(np.trace(GXVX))
    twice = squares - 2.0 * float(np.trace(G @ XVVX)) + float(np.trace(GXVX @ GXVX))
    return Scatter(fit.residual_sum / expected, expected**2 / twice, GXVX @ G, phi, _written_out(sweeps))


def _written_out(sweeps: Sequence[_Covariance]) -> Floats | None:
    """The covariance of all stations, (n, n), where they are few."""
    n = sweeps[-1].rows.stop
    if n > _FEW:
        return None
    whole = np.zeros((n, n))
    for sweep in sweeps:
        whole[sweep.rows, sweep.rows] = sweep.times(np.eye(sweep.rows.stop - sweep.rows.start))
    return whole


def _tie(fit: Fit, sweeps: list[slice]) -> float:
    """Correlation of neighbouring sectors, from all continuous sweeps at once: the parameter of largest
    restricted likelihood on a grid."""
    if fit.freedom < 10:
        return 0.0
    # Stations stopped at may stand beside, and some columns may belong to those alone.
    table = np.column_stack([fit.design, fit.residuals])
    used = np.abs(np.concatenate([table[rows] for rows in sweeps])).max(axis=0) > 0.0
    used[-1] = True
    # Whitened, row i is (row_i - phi row_(i-1)) / root and the first of each sweep is itself: all the
    # likelihood needs are the sums of squares and products of these three.
    firsts, laters, before = (
        np.concatenate([table[rows][part][:, used] for rows in sweeps])
        for part in (slice(0, 1), slice(1, None), slice(0, -1))
    )
    start, here, there = firsts.T @ firsts, laters.T @ laters, before.T @ before
    across = laters.T @ before
    across = across + across.T
    n = len(firsts) + len(laters)
    likelihoods = []
    for phi in _GRID.tolist():
        root2 = 1.0 - phi * phi
        sums = start + (here - phi * across + phi * phi * there) / root2
        values, axes = np.linalg.eigh(sums[:-1, :-1])
        told = values > 1e-12 * values[-1]
        p = int(told.sum())
        explained = float(((axes.T @ sums[:-1, -1])[told] ** 2 / values[told]).sum())
        total = max(float(sums[-1, -1]) - explained, 1e-300)
        information = float(np.log(values[told]).sum())
        # The whitening scales all but the first row of each sweep by 1 / root.
        correlation = len(laters) * math.log(root2)
        likelihoods.append(-0.5 * ((n - p) * math.log(total) + correlation + information))
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
