"""The equations of the mixed model where one factor, such as the blocks, has most of the unknowns and all
others together are few.

No observation meets two levels of one factor, so the part of the larger factor is diagonal but for the
components of a vector: it is eliminated level by level, and what remains of the rest is dense.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats


class Arrow:
    """rows: each observation's unknowns, sparse, (n, m). columns: the unknown of each factor that an
    observation meets or -1, (n,)."""

    def __init__(self, rows: Any, columns: Sequence[NDArray[np.int64]], random: int, tied: int) -> None:
        """Sort the unknowns into the larger factor's and the rest."""
        self._tied, self._unknowns = tied, int(rows.shape[1])
        self._large, rows = larger(columns), rows.tocsc()
        self._few = np.setdiff1d(np.arange(self._unknowns), self._large)
        self._rows_large, self._rows_few = rows[:, self._large].tocsr(), rows[:, self._few].tocsr()
        self._prior = (self._few < random).astype(np.float64)

    def at(self, inverse: Floats, weights: Floats) -> "Eliminated":
        """Of own scatters with this inverse, (n, e, e), and these weights of the unknowns."""
        from scipy.sparse import block_array, diags_array

        e = self._tied
        large, few = (
            (rows @ diags_array(weights[which])).tocsr()
            for rows, which in ((self._rows_large, self._large), (self._rows_few, self._few))
        )
        squares = large.multiply(large).T.tocsr()
        own = np.stack([np.stack([squares @ inverse[:, i, j] for j in range(e)], 1) for i in range(e)], 1)
        pulled = [
            [diags_array(np.ascontiguousarray(inverse[:, i, j])) @ few for j in range(e)] for i in range(e)
        ]
        across = block_array([[large.T @ part for part in row] for row in pulled], format="csr")
        rest = block_array([[few.T @ part for part in row] for row in pulled]).toarray()
        rest[np.diag_indices(len(rest))] += np.tile(self._prior, e)
        return Eliminated(np.asarray(own + np.eye(e)), across, rest, self._split())

    def _split(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        shift = self._unknowns * np.arange(self._tied)[:, None]
        return (self._large + shift).ravel(), (self._few + shift).ravel()


class Eliminated:
    """The larger factor's blocks, (k, e, e), inverted one by one; the rest by Cholesky's factor."""

    def __init__(
        self, own: Floats, across: Any, rest: Floats, split: tuple[NDArray[np.int64], NDArray[np.int64]]
    ) -> None:
        """across: (k e, r e), sparse. rest: (r e, r e). split: where the unknowns of either stand."""
        from scipy.linalg import cho_factor
        from scipy.sparse import block_array, diags_array

        e = own.shape[1]
        inverse = np.asarray(np.linalg.inv(own), dtype=np.float64)
        self._inverse = block_array(
            [[diags_array(np.ascontiguousarray(inverse[:, i, j])) for j in range(e)] for i in range(e)],
            format="csr",
        )
        self._through = self._inverse @ across
        self._back = across.T.tocsr()
        self._rest = cho_factor(rest - (self._back @ self._through).toarray(), lower=True, check_finite=False)
        self._large, self._few = split
        self.log_determinant = float(np.linalg.slogdet(own)[1].sum()) + 2.0 * float(
            np.log(self._rest[0].diagonal()).sum()
        )

    def solve(self, right: Floats) -> Floats:
        """Of shape (m e, any)."""
        from scipy.linalg import cho_solve

        first = self._inverse @ right[self._large]
        rest = cho_solve(self._rest, right[self._few] - self._back @ first, check_finite=False)
        out = np.empty_like(right)
        out[self._few] = rest
        out[self._large] = first - self._through @ rest
        return out


def larger(columns: Sequence[NDArray[np.int64]]) -> NDArray[np.int64]:
    """The unknowns of the factor that has most of them."""
    each = [np.unique(column[column >= 0]) for column in columns]
    return max(each, key=len, default=np.zeros(0, dtype=np.int64))
