"""Streaming weighted least squares by square-root-free Givens rotations.

W. M. Gentleman, "Least squares computations by Givens transformations without square roots",
J. Inst. Maths Applics 12 (1973) 329-336. The normal matrix is never formed: each row is rotated
into a small triangle, X'WX = R'DR with R unit upper triangular, so an ill-conditioned arc loses
half the digits that normal equations lose. Work and memory a row are constant.

The rotation is written out as straight-line scalar code, generated once for each number of
parameters: for the 3 to 13 parameters of a sweep that is several times faster than loops or
matrix calls (tests/bench/leastsquares.py).
"""

from collections.abc import Callable, Iterable, Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Row = Sequence[float]
_Absorb = Callable[[list[float], Iterable[Row]], None]


class LeastSquares:
    """Minimise sum w (y - x.b)^2 over rows that arrive one by one.

    `parameters` is the number p of unknowns. Rows are absorbed for good; to remove one exactly,
    build a new factor from the others (a downdate would lose digits, and sweeps are short).
    """

    def __init__(self, parameters: int) -> None:
        """An empty factor for `parameters` unknowns."""
        self.parameters = parameters
        self.rows = 0
        self._absorb = _rotation(parameters)
        # diagonal D, strict upper triangle of R row by row, right-hand side, residual sum
        self._state = [0.0] * (2 * parameters + parameters * (parameters - 1) // 2 + 1)

    def add(self, x: Sequence[float], y: float, weight: float = 1.0) -> None:
        """Absorb one row x (p values) with observation y and weight > 0."""
        self._absorb(self._state, ((*x, y, weight),))
        self.rows += 1

    def add_rows(self, rows: Sequence[Row]) -> None:
        """Absorb many rows, each (x_1 ... x_p, y, weight): the same bits as one by one."""
        self._absorb(self._state, rows)
        self.rows += len(rows)

    def copy(self) -> "LeastSquares":
        """An independent factor holding the same rows."""
        other = LeastSquares(self.parameters)
        other._state, other.rows = self._state.copy(), self.rows
        return other

    @property
    def residual_sum(self) -> float:
        """Weighted sum of squared residuals of the rows absorbed so far."""
        return self._state[-1]

    @property
    def freedom(self) -> int:
        """Degrees of freedom left: rows minus parameters."""
        return self.rows - self.parameters

    def triangle(self) -> Floats:
        """The factor sqrt(D) R, shape (p, p): X'WX = T'T."""
        p, state = self.parameters, self._state
        T = np.eye(p)
        T[np.triu_indices(p, 1)] = state[p : p + p * (p - 1) // 2]
        scaled: Floats = np.sqrt(np.array(state[:p]))[:, None] * T
        return scaled

    def condition(self) -> float:
        """Condition number of X with its columns scaled to equal length; inf where singular.

        Scaling first makes it independent of units, so that it tells of geometry alone
        (A. van der Sluis, Numer. Math. 14 (1969) 14-23).
        """
        T = self.triangle()
        lengths = np.sqrt((T * T).sum(axis=0))
        if not np.all(np.isfinite(lengths)) or np.any(lengths == 0.0):
            return float("inf")
        singular = np.linalg.svd(T / lengths, compute_uv=False)
        # Below rounding level a smallest singular value is noise, not information.
        tiny = singular[0] * np.finfo(float).eps * self.parameters
        return float(singular[0] / singular[-1]) if singular[-1] > tiny else float("inf")

    def solve(self) -> Floats:
        """The estimate b, shape (p,). Raises ZeroDivisionError where the rows cannot determine it."""
        p, state = self.parameters, self._state
        if 0.0 in state[:p]:
            raise ZeroDivisionError("rank-deficient rows")
        b = state[-p - 1 : -1]
        at = p + p * (p - 1) // 2
        for i in range(p - 2, -1, -1):
            at -= p - 1 - i
            for k in range(i + 1, p):
                b[i] -= state[at + k - i - 1] * b[k]
        return np.array(b)

    def unscaled_covariance(self) -> Floats:
        """(X'WX)^-1, shape (p, p), by inverting the triangle: R^-1 D^-1 R^-T.

        Multiply by the variance of an observation of unit weight. Raises ZeroDivisionError where
        the rows cannot determine it.
        """
        p, state = self.parameters, self._state
        if 0.0 in state[:p]:
            raise ZeroDivisionError("rank-deficient rows")
        R = np.eye(p)
        R[np.triu_indices(p, 1)] = state[p : p + p * (p - 1) // 2]
        inverse = np.eye(p)
        for i in range(p - 2, -1, -1):
            inverse[i, i + 1 :] = -R[i, i + 1 :] @ inverse[i + 1 :, i + 1 :]
        half = inverse / np.sqrt(np.array(state[:p]))
        covariance: Floats = half @ half.T
        return covariance


@cache
def _rotation(p: int) -> _Absorb:
    """Compile the function that rotates rows (x_0 .. x_{p-1}, y, w) into the state of p unknowns."""
    d = [f"d{i}" for i in range(p)]
    r = [f"r{i}_{k}" for i in range(p) for k in range(i + 1, p)]
    t = [f"t{i}" for i in range(p)]
    names = ", ".join([*d, *r, *t, "rss"])
    xs = ", ".join(f"x{i}" for i in range(p))
    lines = ["def absorb(state, rows):", f"    {names} = state", f"    for {xs}, y, w in rows:"]
    lines.append("        while w > 0.0:  # left by break, as soon as nothing of the row remains")
    body = []
    for i in range(p):
        body += [
            f"if x{i} != 0.0:",
            f"    wx = w * x{i}",
            f"    new = d{i} + wx * x{i}",
            "    if new > 0.0:",
            f"        c = d{i} / new",
            "        s = wx / new",
            f"        d{i} = new",
            "        w *= c",
        ]
        for k in range(i + 1, p):
            body += [
                f"        x = x{k}",
                f"        x{k} = x - x{i} * r{i}_{k}",
                f"        r{i}_{k} = c * r{i}_{k} + s * x",
            ]
        body += [
            "        yi = y",
            f"        y = yi - x{i} * t{i}",
            f"        t{i} = c * t{i} + s * yi",
            "        if w == 0.0: break",
        ]
    body += ["rss += w * y * y", "break"]
    lines += ["            " + line for line in body]
    lines.append(f"    state[:] = {names}")
    space: dict[str, _Absorb] = {}
    exec("\n".join(lines), space)
    return space["absorb"]
