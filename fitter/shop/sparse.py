"""The equations of the mixed model for many thousand unknowns: where the matrix is not zero is found once,
and its values are filled in anew each time.

Random unknowns are sparse, since an observation meets one level of each factor; fixed ones meet every
observation. So the random part is factorised by itself in an order that keeps it sparse, found at the
first use, and the fixed part, which is small, by its Schur complement.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats


class Sparse:
    """design: (n, q). columns: the unknown of each factor that an observation meets or -1, (n,)."""

    def __init__(self, design: Floats, columns: Sequence[NDArray[np.int64]], random: int, tied: int) -> None:
        """Find the pattern of the random part and the order to eliminate it in."""
        self._design, self._random, self._tied = design, random, tied
        self._met = [(np.flatnonzero(column >= 0), column[column >= 0]) for column in columns]
        self._entries = self._pattern(columns)
        self._order: NDArray[np.int64] | None = None
        self._place()

    def at(self, inverse: Floats, weights: Floats) -> "Factor":
        """Of own scatters with this inverse, (n, e, e), and these weights of the unknowns."""
        q, m, e = self._design.shape[1], self._random, self._tied
        values = np.concatenate([
            inverse[observation, i, j] * weights[a] * weights[b]
            for i in range(e) for j in range(e) for observation, a, b in self._entries
        ])  # fmt: skip
        data: Floats = np.bincount(self._slot, weights=values, minlength=self._size).astype(np.float64)
        data[self._diagonal] += 1.0
        border = np.zeros((m * e, q * e))
        for i in range(e):
            for j in range(e):
                part = inverse[:, i, j, None] * self._design
                for observation, to in self._met:
                    for column in range(q):
                        border[i * m : i * m + m, j * q + column] += weights[:m] * np.bincount(
                            to, weights=part[observation, column], minlength=m
                        )
        fixed = np.block([
            [self._design.T @ (inverse[:, i, j, None] * self._design) for j in range(e)] for i in range(e)
        ])  # fmt: skip
        return Factor(self._factorised(data), border, fixed, (m, q, e))

    @staticmethod
    def _pattern(
        columns: Sequence[NDArray[np.int64]],
    ) -> list[tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]]:
        """Of each pair of factors: the observations that meet both, and which unknowns they tie."""
        pairs = []
        for one in columns:
            for other in columns:
                both = np.asarray(np.flatnonzero((one >= 0) & (other >= 0)), dtype=np.int64)
                pairs.append((both, one[both], other[both]))
        return pairs

    def _place(self) -> None:
        """Where each value goes in the matrix's compressed columns."""
        m, e = self._random, self._tied
        size = m * e
        parts = [(a + i * m, b + j * m) for i in range(e) for j in range(e) for _, a, b in self._entries]
        at, to = (np.concatenate([part[k] for part in parts]) for k in (0, 1))
        if self._order is not None:
            at, to = self._order[at], self._order[to]
        own = np.arange(size)
        keys = np.concatenate([to * size + at, own * size + own])
        slots, where = np.unique(keys, return_inverse=True)
        self._slot, self._diagonal = where[: len(at)], where[len(at) :]
        self._size = len(slots)
        self._indices = (slots % size).astype(np.int32)
        self._starts = np.searchsorted(slots, np.arange(size + 1) * size).astype(np.int32)

    def _factorised(self, data: Floats) -> Any:
        from scipy.sparse import csc_array
        from scipy.sparse.linalg import splu

        size = self._random * self._tied
        found = self._order is not None
        # Symmetric and positive definite: no pivoting, and an ordering for symmetric patterns.
        factor = splu(
            csc_array((data, self._indices, self._starts), shape=(size, size)),
            permc_spec="NATURAL" if found else "MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
        if not found:
            self._order = np.asarray(factor.perm_c, dtype=np.int64)
            self._place()
            return factor, None
        return factor, self._order


class Factor:
    """The whole matrix by the random part's factor and the fixed part's Schur complement."""

    def __init__(self, random: Any, border: Floats, fixed: Floats, shape: tuple[int, int, int]) -> None:
        """random: factor, and where each unknown went. border: (m e, q e). fixed: (q e, q e)."""
        self._factor, self._order = random
        m, q, e = shape
        at = np.arange((m + q) * e) % (m + q)
        self._first, self._last = np.flatnonzero(at < m), np.flatnonzero(at >= m)
        self._border = border
        self._through = self._inner(border)
        self._fixed = np.linalg.cholesky(fixed - border.T @ self._through)
        diagonal = np.abs(self._factor.U.diagonal())
        self.log_determinant = float(np.log(diagonal).sum()) + 2.0 * float(
            np.log(self._fixed.diagonal()).sum()
        )

    def _inner(self, right: Floats) -> Floats:
        if self._order is None:
            return np.asarray(self._factor.solve(np.ascontiguousarray(right)))
        moved = np.empty_like(right)
        moved[self._order] = right
        return np.asarray(self._factor.solve(moved)[self._order])

    def solve(self, right: Floats) -> Floats:
        """Of shape ((m + q) e, any)."""
        first = self._inner(right[self._first])
        rest = right[self._last] - self._border.T @ first
        fixed = np.linalg.solve(self._fixed.T, np.linalg.solve(self._fixed, rest))
        out = np.empty_like(right)
        out[self._last] = fixed
        out[self._first] = first - self._through @ fixed
        return out
