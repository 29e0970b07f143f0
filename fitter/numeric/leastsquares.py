"""Streaming least squares by square-root-free Givens rotations.

W. M. Gentleman, "Least squares computations by Givens transformations without square roots",
J. Inst. Maths Applics 12 (1973) 329-336. The normal matrix is never formed: each row is rotated
into a small triangle, X'X = R'DR with R unit upper triangular, so an ill-conditioned arc loses
half the digits that normal equations lose. Work and memory a row are constant. For the 3 to 13 unknowns of
a sweep loops over plain numbers are quicker than matrix calls (tests/bench/leastsquares.py).
"""

from collections.abc import Sequence

import numpy as np

from .basis import Floats

Row = Sequence[float]


class LeastSquares:
    """Minimise sum (y - x.b)^2 over rows that arrive one by one.

    `parameters` is the number p of unknowns. Rows are absorbed for good; to remove one exactly,
    build a new factor from the others (a downdate would lose digits, and sweeps are short).

    rows: absorbed so far. residual_sum: of their squared residuals.
    """

    def __init__(self, parameters: int) -> None:
        self.parameters = parameters
        self.rows, self.residual_sum = 0, 0.0
        self._diagonal = [0.0] * parameters
        self._right = [0.0] * parameters
        self._above = [[0.0] * (parameters - 1 - i) for i in range(parameters)]
        """R's rows, beginning at the right of its diagonal of ones."""

    def absorb(self, row: Row) -> None:
        """Take in one row (x_1 ... x_p, y)."""
        *x, y = row
        w = 1.0
        self.rows += 1
        diagonal, right = self._diagonal, self._right
        for i, above in enumerate(self._above):
            if not w > 0.0:
                return  # nothing of the row remains
            xi = x[i]
            wx = w * xi
            before = diagonal[i]
            new = before + wx * xi
            if xi == 0.0 or not new > 0.0:
                continue
            c, s = before / new, wx / new
            diagonal[i] = new
            w *= c
            for k, xk in enumerate(x[i + 1 :]):
                x[i + 1 + k] = xk - xi * above[k]
                above[k] = c * above[k] + s * xk
            yi = y
            y = yi - xi * right[i]
            right[i] = c * right[i] + s * yi
        self.residual_sum += w * y * y

    def add_rows(self, rows: Sequence[Row]) -> None:
        """Absorb many rows, each (x_1 ... x_p, y): the same bits as one by one."""
        for row in rows:
            self.absorb(row)

    def leading(self, parameters: int) -> "LeastSquares":
        """An independent factor of the first `parameters` unknowns alone, from the same rows: what the others
        explain is residual in it. The estimate has the bits of a factor that never knew of the others."""
        other = LeastSquares(parameters)
        other._diagonal, other._right = self._diagonal[:parameters], self._right[:parameters]
        other._above = [row[: parameters - 1 - i] for i, row in enumerate(self._above[:parameters])]
        others = zip(self._diagonal[parameters:], self._right[parameters:], strict=True)
        other.rows, other.residual_sum = self.rows, sum((d * y * y for d, y in others), self.residual_sum)
        return other

    @property
    def freedom(self) -> int:
        """Degrees of freedom left: rows minus parameters."""
        return self.rows - self.parameters

    def triangle(self) -> Floats:
        """The factor sqrt(D) R, shape (p, p): X'X = T'T."""
        T = np.eye(self.parameters)
        T[np.triu_indices(self.parameters, 1)] = [value for row in self._above for value in row]
        scaled: Floats = np.sqrt(np.array(self._diagonal))[:, None] * T
        return scaled

    def solution(self) -> list[float]:
        """The estimate b as p plain numbers, from the last unknown to the first by R b = t. Raises
        ZeroDivisionError where the rows cannot determine it."""
        if not all(self._diagonal):
            raise ZeroDivisionError("rank-deficient rows")
        b = self._right.copy()
        for i in range(self.parameters - 2, -1, -1):
            for k, value in enumerate(self._above[i], i + 1):
                b[i] -= value * b[k]
        return b
