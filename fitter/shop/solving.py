"""The mixed-model equations at given standard deviations: solved, with their determinant and inverse.

    M = W' R^-1 W + D,   M v = W' R^-1 y

with W the rows of all unknowns (random ones scaled to unit variance, then fixed ones), R the
observations' own scatter and D one for each random unknown. -2 log of the restricted likelihood is
log|R| + log|M| + y' R^-1 (y - W v) + (n - q) d log 2 pi. Both components of a vector have the same
rows A, so W = A (x) I, and an unknown's components stand apart by as many places as there are unknowns.
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats

DENSE = 400
"""Unknowns up to which a dense factor is the quicker one."""


@dataclass(frozen=True, slots=True)
class Solved:
    """solution: shape (unknowns, d). residual: y less everything fitted, (n, d). scatter: R, (n, d, d)."""

    deviance: float
    solution: Floats
    residual: Floats
    scatter: Floats
    factor: "_Dense | _Sparse"
    rows: Any

    def inverse(self, unknowns: NDArray[np.int64]) -> Floats:
        """Covariance of some unknowns, those of one component together, (k d, k d)."""
        m, d = self.solution.shape
        places = (unknowns[None, :] + m * np.arange(d)[:, None]).ravel()
        unit = np.zeros((m * d, len(places)))
        unit[places, np.arange(len(places))] = 1.0
        return np.asarray(self.factor.solve(unit)[places])

    def unsure(self, j: int) -> Floats:
        """Covariance of what is fitted to observation j, as far as the unknowns are unsure, (d, d)."""
        row = self.rows[[j]]
        dense = (row if isinstance(row, np.ndarray) else row.toarray()).ravel()
        spread = np.kron(np.eye(self.residual.shape[1]), dense[:, None])
        return np.asarray(spread.T @ self.factor.solve(spread))


class _Dense:
    def __init__(self, matrix: Floats) -> None:
        self._root = np.linalg.cholesky(matrix)
        self.log_determinant = 2.0 * float(np.log(np.diag(self._root)).sum())

    def solve(self, right: Floats) -> Floats:
        return np.asarray(np.linalg.solve(self._root.T, np.linalg.solve(self._root, right)))


class _Sparse:
    def __init__(self, matrix: Any) -> None:
        from scipy.sparse.linalg import splu

        # Symmetric and positive definite: no pivoting, and an ordering for symmetric patterns.
        self._factor = splu(
            matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )
        self.log_determinant = float(np.log(np.abs(self._factor.U.diagonal())).sum())

    def solve(self, right: Floats) -> Floats:
        return np.asarray(self._factor.solve(right))


def solved(y: Floats, scatter: Floats, rows: Any, random: int) -> Solved:
    """Solve. rows: A, shape (n, unknowns), dense or sparse; the first `random` unknowns have unit variance
    beforehand, the others are fixed."""
    n, d = y.shape
    unknowns = rows.shape[1]
    inverse = np.asarray(np.linalg.inv(scatter), dtype=np.float64)
    weighted = np.einsum("nij,nj->ni", inverse, y)
    right = np.asarray(rows.T @ weighted).T.ravel()
    factor = _factor(inverse, rows, np.repeat([1.0, 0.0], [random, unknowns - random]))
    solution = factor.solve(right)
    by_unknown = solution.reshape(d, unknowns).T
    deviance = (
        float(np.linalg.slogdet(scatter)[1].sum())
        + factor.log_determinant
        + float((weighted * y).sum() - right @ solution)
        + (n - unknowns + random) * d * math.log(2.0 * math.pi)
    )
    return Solved(deviance, by_unknown, y - np.asarray(rows @ by_unknown), scatter, factor, rows)


def _factor(inverse: Floats, rows: Any, prior: Floats) -> "_Dense | _Sparse":
    """M, component by component: A' diag(R^-1 of the pair) A."""
    d = inverse.shape[1]
    if isinstance(rows, np.ndarray):
        blocks = [[rows.T @ (inverse[:, i, j, None] * rows) for j in range(d)] for i in range(d)]
        return _Dense(np.block(blocks) + np.diag(np.tile(prior, d)))
    from scipy.sparse import block_array, diags_array

    transposed = rows.T.tocsr()
    parts = [
        [transposed @ (diags_array(np.ascontiguousarray(inverse[:, i, j])) @ rows) for j in range(d)]
        for i in range(d)
    ]
    return _Sparse(block_array(parts) + diags_array(np.tile(prior, d)))
