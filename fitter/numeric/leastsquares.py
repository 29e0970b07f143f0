"""Streaming weighted least squares by square-root-free Givens rotations.

W. M. Gentleman, "Least squares computations by Givens transformations without square roots",
J. Inst. Maths Applics 12 (1973) 329-336. The normal matrix is never formed: each row is rotated
into a small triangle, X'WX = R'DR with R unit upper triangular, so an ill-conditioned arc loses
half the digits that normal equations lose. Work and memory a row are constant.

Rotation, back substitution and inverse are written out as straight-line scalar code, generated once
for each number of parameters, and the triangle lives in the local variables of a running generator:
for the 3 to 13 parameters of a sweep that is several times faster than loops or matrix calls
(tests/bench/leastsquares.py).
"""

from collections.abc import Callable, Generator, Iterable, Sequence
from functools import cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Row = Sequence[float]
State = tuple[float, ...]
_Triangle = Generator[Any, Row | bool | None, None]

_STATE: Final = False
_INVERSE: Final = True


class LeastSquares:
    """Minimise sum w (y - x.b)^2 over rows that arrive one by one.

    `parameters` is the number p of unknowns. Rows are absorbed for good; to remove one exactly,
    build a new factor from the others (a downdate would lose digits, and sweeps are short).
    """

    def __init__(self, parameters: int) -> None:
        """An empty factor for `parameters` unknowns."""
        self.parameters = parameters
        # diagonal D, strict upper triangle of R row by row, right-hand side, residual sum; rows
        self._begin((*(0.0,) * (2 * parameters + parameters * (parameters - 1) // 2 + 1), 0))

    def _begin(self, state: State) -> None:
        triangle = _triangle(self.parameters)(state)
        next(triangle)
        self._send = self.absorb = triangle.send
        """absorb: take in one row (x_1 ... x_p, y, weight), without the cost of a method in between."""

    @property
    def _state(self) -> State:
        state: State = self._send(_STATE)
        return state

    @property
    def rows(self) -> int:
        """Rows absorbed so far."""
        return int(self._state[-1])

    def add(self, x: Sequence[float], y: float, weight: float = 1.0) -> None:
        """Absorb one row x (p values) with observation y and weight > 0."""
        self.absorb((*x, y, weight))

    def add_rows(self, rows: Sequence[Row]) -> None:
        """Absorb many rows, each (x_1 ... x_p, y, weight): the same bits as one by one."""
        absorb = self.absorb
        for row in rows:
            absorb(row)

    def copy(self) -> "LeastSquares":
        """An independent factor holding the same rows."""
        other = LeastSquares(self.parameters)
        other._begin(self._state)
        return other

    @property
    def residual_sum(self) -> float:
        """Weighted sum of squared residuals of the rows absorbed so far."""
        return self._state[-2]

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

    def solution(self) -> list[float]:
        """The estimate b as p plain numbers. Raises ZeroDivisionError where the rows cannot determine it."""
        b: list[float] | None = self._send(None)
        if b is None:
            raise ZeroDivisionError("rank-deficient rows")
        return b

    def solve(self) -> Floats:
        """The estimate b, shape (p,). Raises ZeroDivisionError where the rows cannot determine it."""
        return np.array(self.solution())

    def covariance(self) -> list[float]:
        """(X'WX)^-1 as p x p plain numbers row by row, by inverting the triangle: R^-1 D^-1 R^-T.

        Multiply by the variance of an observation of unit weight. Raises ZeroDivisionError where
        the rows cannot determine it.
        """
        inverse: list[float] | None = self._send(_INVERSE)
        if inverse is None:
            raise ZeroDivisionError("rank-deficient rows")
        return inverse

    def unscaled_covariance(self) -> Floats:
        """`covariance` as an array, shape (p, p). Raises ZeroDivisionError as it does."""
        return np.array(self.covariance()).reshape(self.parameters, self.parameters)


@cache
def _triangle(p: int) -> Callable[[State], _Triangle]:
    """Compile the generator that holds the triangle of p unknowns.

    Sent a row (x_0 .. x_{p-1}, y, w) it absorbs it; sent None, _INVERSE or _STATE it yields the solution,
    the inverse (both None where the rows do not determine them) or the whole state.
    """
    d = [f"d{i}" for i in range(p)]
    r = [f"r{i}_{k}" for i in range(p) for k in range(i + 1, p)]
    t = [f"t{i}" for i in range(p)]
    names = ", ".join([*d, *r, *t, "rss", "rows"])
    lines = [
        "def triangle(state):",
        f"    {names} = state",
        "    answer = None",
        "    while True:",
        "        row = yield answer",
        "        if row is None:",
        f"            if {' and '.join(d)}:",
        *_indented(4, _back_substitution(p)),
        "            else: answer = None",
        "            continue",
        f"        if row is {_STATE}:",
        f"            answer = ({names})",
        "            continue",
        f"        if row is {_INVERSE}:",
        f"            if {' and '.join(d)}:",
        *_indented(4, _inverse(p)),
        "            else: answer = None",
        "            continue",
        "        answer = None",
        "        rows += 1",
        f"        {', '.join(f'x{i}' for i in range(p))}, y, w = row",
        "        while w > 0.0:  # left by break, as soon as nothing of the row remains",
        *_indented(3, _rotation(p)),
    ]
    space: dict[str, Any] = {}
    exec("\n".join(lines), space)
    compiled: Callable[[State], _Triangle] = space["triangle"]
    return compiled


def _indented(depth: int, lines: Iterable[str]) -> list[str]:
    return ["    " * depth + line for line in lines]


def _rotation(p: int) -> list[str]:
    """Rotate the row into the triangle, one unknown after the other."""
    lines = []
    for i in range(p):
        lines += [
            f"if x{i}:",
            f"    wx = w * x{i}",
            f"    new = d{i} + wx * x{i}",
            "    if new > 0.0:",
            f"        c = d{i} / new",
            "        s = wx / new",
            f"        d{i} = new",
            "        w *= c",
        ]
        for k in range(i + 1, p):
            lines += [
                f"        x = x{k}",
                f"        x{k} = x - x{i} * r{i}_{k}",
                f"        r{i}_{k} = c * r{i}_{k} + s * x",
            ]
        lines += [
            "        yi = y",
            f"        y = yi - x{i} * t{i}",
            f"        t{i} = c * t{i} + s * yi",
            "        if w == 0.0: break",
        ]
    return [*lines, "rss += w * y * y", "break"]


def _back_substitution(p: int) -> list[str]:
    """R b = t, from the last unknown to the first."""
    lines = [
        f"b{i} = t{i}" + "".join(f" - r{i}_{k} * b{k}" for k in range(i + 1, p)) for i in range(p - 1, -1, -1)
    ]
    return [*lines, f"answer = [{', '.join(f'b{i}' for i in range(p))}]"]


def _inverse(p: int) -> list[str]:
    """The unit triangle R is inverted, v = R^-1, then v D^-1 v' is summed up."""
    lines = []
    for i in range(p - 2, -1, -1):
        for j in range(p - 1, i, -1):
            terms = [f" - r{i}_{k} * v{k}_{j}" for k in range(i + 1, j)]
            lines.append(f"v{i}_{j} = -r{i}_{j}" + "".join(terms))
    for j in range(p):
        lines.append(f"e{j} = 1.0 / d{j}")
        lines += [f"h{i}_{j} = v{i}_{j} * e{j}" for i in range(j)]
    for i in range(p):
        for k in range(i, p):
            first = f"h{i}_{k}" if i < k else f"e{k}"
            terms = [f" + h{i}_{j} * v{k}_{j}" for j in range(k + 1, p)]
            lines.append(f"c{i}_{k} = {first}" + "".join(terms))
    cells = ", ".join(f"c{min(i, k)}_{max(i, k)}" for i in range(p) for k in range(p))
    return [*lines, f"answer = [{cells}]"]
