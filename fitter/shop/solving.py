"""The mixed-model equations at given standard deviations: solved, with their determinant and inverse.

    M = W' R^-1 W + D,   M v = W' R^-1 y

with W the rows of all unknowns (random ones scaled to unit variance, then fixed ones), R the
observations' own scatter and D one for each random unknown. -2 log of the restricted likelihood is
log|R| + log|M| + r' R^-1 r + v'D v + (n - q) d log 2 pi, r what is left of y. Both components of a
vector have the same rows A, so W = A (x) I, and an unknown's components stand apart by as many places
as there are unknowns. Where every observation's covariance is a circle, the components do not know of
each other: one of them is solved for, with as many right sides ("copies") as there are components.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats

DENSE = 400
"""Unknowns up to which a dense factor is the quicker one."""


@dataclass(frozen=True, slots=True)
class Solved:
    """Tied components e, copies c: shapes of solution (m e, c) and of left, y less all that is fitted, and
    pulled, R^-1 left, (n, e, c); inverse_scatter: R^-1, (n, e, e). weights: what unit unknowns are scaled
    by, (m,)."""

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
        """Covariance of each of some unknowns with the others, one component after another, (k d, k d)."""
        places = self.system.places(unknowns)
        unit = np.zeros((len(self.solution), len(places)))
        unit[places, np.arange(len(places))] = 1.0
        return self.system.whole(self.factor.solve(unit)[places])

    def own(self, unknowns: NDArray[np.int64]) -> Floats:
        """Covariance of each of some unknowns by itself, (k, e, e)."""
        k, e, m = len(unknowns), self.system.tied, self.system.unknowns
        places = self.system.places(unknowns).reshape(e, k).T
        unit = np.zeros((m * e, k * e))
        unit[places.ravel(), np.arange(k * e)] = 1.0
        solved = self.factor.solve(unit).reshape(m * e, k, e)
        return np.asarray(solved[places[:, :, None], np.arange(k)[:, None, None], np.arange(e)])

    def unsure(self, which: NDArray[np.int64]) -> Floats:
        """Covariance of what is fitted to some observations, as far as the unknowns are unsure, (k, e, e)."""
        e = self.system.tied
        spread = self.system.spread(which) * np.tile(self.weights, e)[:, None]
        solved = self.factor.solve(spread).reshape(len(spread), len(which), e)
        return np.asarray(np.einsum("mka,mkb->kab", spread.reshape(solved.shape), solved))

    def fitted_to(self, right: Floats) -> Floats:
        """P times a right side (n, e, any): what is left of it, less what the unknowns take up, scaled."""
        pulled = _times(self.inverse_scatter, right)
        taken = self.factor.solve(self.scaled(self.system.gather(pulled)))
        return np.asarray(pulled - _times(self.inverse_scatter, self.system.hand_out(self.scaled(taken))))

    def scaled(self, unknowns: Floats) -> Floats:
        """Times the weights, (m e, any)."""
        return np.asarray(unknowns * np.tile(self.weights, self.system.tied)[:, None])


class System:
    """Everything about the equations that does not depend on the standard deviations.

    y: (n, e, c). design: (n, q). columns: for each factor the unknown that an observation meets, or -1,
    (n,); count: unknowns of all factors together. Fixed ones follow them.
    """

    def __init__(
        self, y: Floats, design: Floats, columns: Sequence[NDArray[np.int64]], count: int, *, dense: bool
    ) -> None:
        self.y, self.design, self.columns, self.random, self.dense = y, design, tuple(columns), count, dense
        self.tied, self.copies = int(y.shape[1]), int(y.shape[2])
        self.unknowns = count + int(design.shape[1])
        self._order: NDArray[np.int64] | None = None
        self._prior = np.tile(np.repeat([1.0, 0.0], [count, design.shape[1]]), self.tied)

    def at(self, scatter: Floats, weights: Floats) -> Solved:
        """Solve. scatter: R, (n, e, e). weights: of the unknowns, (m,), ones for the fixed ones. Raises
        numpy.linalg.LinAlgError where M has no inverse."""
        inverse = 1.0 / scatter if self.tied == 1 else np.asarray(np.linalg.inv(scatter), dtype=np.float64)
        factor = self._factor(inverse, weights)
        scale = np.tile(weights, self.tied)[:, None]
        solution = factor.solve(scale * self.gather(_times(inverse, self.y)))
        left = self.y - self.hand_out(scale * solution)
        pulled = _times(inverse, left)
        spread = np.log(scatter).sum() if self.tied == 1 else np.linalg.slogdet(scatter)[1].sum()
        n, q = self.design.shape
        deviance = (
            self.copies * (float(spread) + factor.log_determinant)
            + float((pulled * left).sum() + (self._prior[:, None] * solution**2).sum())
            + (n - q) * self.tied * self.copies * math.log(2.0 * math.pi)
        )
        return Solved(self, deviance, solution, left, pulled, scatter, inverse, weights, factor)

    def places(self, unknowns: NDArray[np.int64]) -> NDArray[np.int64]:
        """Of unknowns, those of one component together."""
        return np.asarray((unknowns[None, :] + self.unknowns * np.arange(self.tied)[:, None]).ravel())

    def gather(self, per_observation: Floats) -> Floats:
        """(n, e, c) summed over what each unknown meets, (m e, c)."""
        return np.concatenate([np.asarray(self._turned @ per_observation[:, i]) for i in range(self.tied)])

    def hand_out(self, unknowns: Floats) -> Floats:
        """(m e, c) as every observation meets them, (n, e, c)."""
        m = self.unknowns
        parts = [np.asarray(self.rows @ unknowns[i * m : i * m + m]) for i in range(self.tied)]
        return np.stack(parts, axis=1)

    def spread(self, which: NDArray[np.int64]) -> Floats:
        """The rows of some observations, one column for each of their components, (m e, k e)."""
        rows = self.rows[which]
        plain = np.asarray(rows if self.dense else rows.toarray()).T
        e = self.tied
        return np.asarray(np.einsum("mk,ab->amkb", plain, np.eye(e)).reshape(self.unknowns * e, -1))

    def whole(self, tied: Floats) -> Floats:
        """A covariance of tied components as one of all of them, ((k e), (k e)) to ((k d), (k d))."""
        return np.asarray(tied if self.copies == 1 else np.kron(np.eye(self.copies), tied))

    def products(self, inverse: Floats) -> Floats:
        """U' V U for blocks V of the observations, (n, e, e): unscaled and dense, (m e, m e)."""
        e = self.tied
        if e == 1:
            return np.asarray(self._turned @ (inverse[:, 0] * self.rows))
        blocks = [[self._turned @ (inverse[:, i, j, None] * self.rows) for j in range(e)] for i in range(e)]
        return np.asarray(np.block(blocks), dtype=np.float64)

    def _factor(self, inverse: Floats, weights: Floats) -> "Dense | Sparse":
        scale, parts = np.tile(weights, self.tied), range(self.tied)
        if self.dense:
            matrix = scale[:, None] * self.products(inverse) * scale
            matrix[np.diag_indices(len(matrix))] += self._prior
            return Dense(matrix)
        from scipy.sparse import block_array, diags_array

        blocks = [[self._turned @ (diags_array(inverse[:, i, j]) @ self.rows) for j in parts] for i in parts]
        scaled = diags_array(scale) @ block_array(blocks) @ diags_array(scale)
        matrix = (scaled + diags_array(self._prior)).tocsc()
        if self._order is None:
            self._order = elimination_order(matrix)
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
        """Of shape (m e, any)."""
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
        """Of shape (m e, any)."""
        solved = np.empty(right.shape)
        solved[self._order] = self._factor.solve(np.ascontiguousarray(right[self._order]))
        return solved


def elimination_order(matrix: Any) -> NDArray[np.int64]:
    """An order of the unknowns in which a factor stays mostly zero, by the pattern alone. Looking for it
    takes ten times as long as the factor itself."""
    return np.asarray(np.argsort(_factored(matrix, "MMD_AT_PLUS_A").perm_c))


def _factored(matrix: Any, order: Literal["NATURAL", "MMD_AT_PLUS_A"]) -> Any:
    """Symmetric and positive definite: no pivoting."""
    from scipy.sparse.linalg import splu

    return splu(matrix.tocsc(), permc_spec=order, diag_pivot_thresh=0.0, options={"SymmetricMode": True})


def _times(blocks: Floats, vectors: Floats) -> Floats:
    """(n, e, e) times (n, e, c)."""
    return np.asarray(blocks * vectors if blocks.shape[1] == 1 else blocks @ vectors)
