"""The mixed-model equations at given standard deviations: solved, with their determinant and inverse.

    M = W' R^-1 W + D,   M v = W' R^-1 y

with W the rows of all unknowns (random ones scaled to unit variance, then fixed ones), R the
observations' own scatter and D one for each random unknown. -2 log of the restricted likelihood is
log|R| + log|M| + r' R^-1 r + v'D v + (n - q) d log 2 pi, r what is left of y. All d components of a
vector have the same rows A, so W = A (x) I, and an unknown's components stand beside each other.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats

DENSE = 150
"""Unknowns up to which a dense factor is the quicker one."""


@dataclass(frozen=True, slots=True)
class Solved:
    """solution: (m d, 1). left: y less all that is fitted, and pulled: R^-1 left, (n, d, 1). scatter: R, and
    its inverse, (n, d, d). weights: what unit unknowns are scaled by, (m d, 1)."""

    system: "System"
    deviance: float
    solution: Floats
    left: Floats
    pulled: Floats
    scatter: Floats
    inverse_scatter: Floats
    weights: Floats
    factor: "Dense | Sparse"

    def inverse(self, unknowns: NDArray[np.int64]) -> Floats:
        """Covariance of some unknowns with each other, (k d, k d)."""
        places = self.system.places(unknowns).ravel()
        unit = np.zeros((len(self.solution), len(places)))
        unit[places, np.arange(len(places))] = 1.0
        return self.factor.solve(unit)[places]

    def own(self, unknowns: NDArray[np.int64]) -> Floats:
        """Covariance of each of some unknowns by itself, (k, d, d)."""
        k, d = np.arange(len(unknowns)), self.system.components
        return self.inverse(unknowns).reshape(len(k), d, len(k), d)[k, :, k]

    def unsure(self, which: NDArray[np.int64]) -> Floats:
        """Covariance of what is fitted to some observations, as far as the unknowns are unsure, (k, d, d)."""
        spread = self.system.spread(which) * self.weights
        solved = self.factor.solve(spread).reshape(len(spread), len(which), self.system.components)
        return np.asarray(np.einsum("mka,mkb->kab", spread.reshape(solved.shape), solved))

    def fitted_to(self, right: Floats) -> Floats:
        """P times a right side (n, d, any): what is left of it, less what the unknowns take up, scaled."""
        pulled = self.inverse_scatter @ right
        taken = self.factor.solve(self.weights * self.system.gather(pulled))
        return np.asarray(pulled - self.inverse_scatter @ self.system.hand_out(self.weights * taken))


class System:
    """Everything about the equations that does not depend on the standard deviations.

    y: (n, d). design: (n, q). columns: for each factor the unknown that an observation meets, or -1, (n,);
    count: unknowns of all factors together. Fixed ones follow them.
    """

    def __init__(
        self, y: Floats, design: Floats, columns: Sequence[NDArray[np.int64]], count: int, *, dense: bool
    ) -> None:
        self.y, self.design, self.columns, self.random, self.dense = y, design, tuple(columns), count, dense
        self.components, self.unknowns = int(y.shape[1]), count + int(design.shape[1])
        self._order: NDArray[np.int64] | None = None
        self._prior = np.repeat([1.0, 0.0], [count * self.components, design.shape[1] * self.components])

    def at(self, scatter: Floats, weights: Floats) -> Solved:
        """Solve. scatter: R, (n, d, d). weights: of the unknowns, (m,), ones for the fixed ones. Raises
        numpy.linalg.LinAlgError where M has no inverse."""
        inverse = np.asarray(np.linalg.inv(scatter), dtype=np.float64)
        wide = np.repeat(weights, self.components)[:, None]
        factor = self._factor(inverse, wide[:, 0])
        y = self.y[:, :, None]
        solution = factor.solve(wide * self.gather(inverse @ y))
        left = y - self.hand_out(wide * solution)
        pulled = inverse @ left
        n, q = self.design.shape
        deviance = (
            float(np.linalg.slogdet(scatter)[1].sum())
            + factor.log_determinant
            + float((pulled * left).sum() + (self._prior[:, None] * solution**2).sum())
            + (n - q) * self.components * math.log(2.0 * math.pi)
        )
        return Solved(self, deviance, solution, left, pulled, scatter, inverse, wide, factor)

    def places(self, unknowns: NDArray[np.int64]) -> NDArray[np.int64]:
        """Of the components of each unknown, (k, d)."""
        return np.asarray(unknowns[:, None] * self.components + np.arange(self.components))

    def gather(self, per_observation: Floats) -> Floats:
        """(n, d, any) summed over what each unknown meets, (m d, any)."""
        n, d, c = per_observation.shape
        return np.asarray(self._turned @ per_observation.reshape(n, d * c)).reshape(-1, c)

    def hand_out(self, unknowns: Floats) -> Floats:
        """(m d, any) as every observation meets them, (n, d, any)."""
        d, c = self.components, unknowns.shape[1]
        return np.asarray(self.rows @ unknowns.reshape(-1, d * c)).reshape(-1, d, c)

    def spread(self, which: NDArray[np.int64]) -> Floats:
        """The rows of some observations, one column for each of their components, (m d, k d)."""
        rows = self.rows[which]
        plain: Floats = np.asarray(rows if self.dense else rows.toarray()).T
        return np.asarray(np.kron(plain, np.eye(self.components)), dtype=np.float64)

    def products(self, blocks: Floats) -> Floats:
        """U' V U for symmetric blocks V of the observations, (n, d, d): unscaled and dense, (m d, m d)."""
        m, d = self.unknowns, self.components
        out = np.empty((m, d, m, d))
        for i in range(d):
            for j in range(i + 1):
                out[:, i, :, j] = out[:, j, :, i] = self._turned @ (blocks[:, i, j, None] * self.rows)
        return out.reshape(m * d, m * d)

    def _factor(self, inverse: Floats, weights: Floats) -> "Dense | Sparse":
        if self.dense:
            matrix = weights[:, None] * self.products(inverse) * weights
            matrix[np.diag_indices(len(matrix))] += self._prior
            return Dense(matrix)
        from scipy.sparse import bsr_array, diags_array, eye_array, kron

        n = len(self.design)
        wide = kron(self.rows, eye_array(self.components), format="csr") @ diags_array(weights)
        own = bsr_array((inverse, np.arange(n), np.arange(n + 1)))
        matrix = (wide.T @ (own @ wide) + diags_array(self._prior)).tocsc()
        if self._order is None:
            # By the pattern alone. Looking for it takes ten times as long as the factor itself.
            self._order = np.argsort(_factored(matrix, "MMD_AT_PLUS_A").perm_c)
        return Sparse(matrix, self._order)

    @cached_property
    def rows(self) -> Any:
        """Each observation's unknowns, unscaled: ones for its levels, then its row of the fixed part."""
        met = [(np.flatnonzero(column >= 0), column[column >= 0]) for column in self.columns]
        at, to = (np.concatenate([pair[k] for pair in met] + [np.zeros(0, np.int64)]) for k in (0, 1))
        n = len(self.design)
        if self.dense:
            random = np.zeros((n, self.random))
            random[at, to] = 1.0
            return np.column_stack([random, self.design])
        from scipy.sparse import coo_array, csr_array, hstack

        return csr_array(
            hstack([coo_array((np.ones(len(at)), (at, to)), shape=(n, self.random)), csr_array(self.design)])
        )

    @cached_property
    def _turned(self) -> Any:
        return np.ascontiguousarray(self.rows.T) if self.dense else self.rows.T.tocsr()


class Dense:
    """By Cholesky's factor, which is inverted: a library that solves with it by several threads waits longer
    for them than so few unknowns take."""

    def __init__(self, matrix: Floats) -> None:
        """Raises numpy.linalg.LinAlgError where it is not positive definite."""
        from scipy.linalg import lapack

        root, failed = lapack.dpotrf(matrix, lower=1, clean=1)
        if failed:
            raise np.linalg.LinAlgError("the equations have no solution")
        self._inverse, _ = lapack.dtrtri(root, lower=1)
        self.log_determinant = 2.0 * float(np.log(root.diagonal()).sum())

    def solve(self, right: Floats) -> Floats:
        """Of shape (m d, any)."""
        return np.asarray(self._inverse.T @ (self._inverse @ right))


class Sparse:
    """By the factor of a matrix that is mostly zero, since an observation meets one level of each factor."""

    def __init__(self, matrix: Any, order: NDArray[np.int64]) -> None:
        """matrix: in compressed columns. order: of its unknowns, in which they are eliminated. Raises
        RuntimeError where it is singular."""
        self._order = order
        self._factor = _factored(matrix[order][:, order], "NATURAL")
        self.log_determinant = float(np.log(np.abs(self._factor.U.diagonal())).sum())

    def solve(self, right: Floats) -> Floats:
        """Of shape (m d, any)."""
        solved = np.empty(right.shape)
        solved[self._order] = self._factor.solve(np.ascontiguousarray(right[self._order]))
        return solved


def _factored(matrix: Any, order: Literal["NATURAL", "MMD_AT_PLUS_A"]) -> Any:
    """Symmetric and positive definite: no pivoting."""
    from scipy.sparse.linalg import splu

    return splu(matrix.tocsc(), permc_spec=order, diag_pivot_thresh=0.0, options={"SymmetricMode": True})
