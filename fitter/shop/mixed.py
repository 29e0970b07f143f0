"""A linear mixed model of vectors, each with a known covariance of its own, by restricted likelihood.

    y_j = X_j beta + sum_f u_f,level(j) + e_j,   u_f ~ N(0, s_f^2 I),   e_j ~ N(0, S_j + s_0^2 I)

Observations are vectors of d components (one, or x and y), whose components share every standard
deviation: a housing does not know which way is up. The random effects are scaled to unit variance, so
that a standard deviation of nothing is an ordinary value and not a pole; a level that is met only
once is no unknown at all, but part of its observation's own scatter. What remains is solved by the
mixed-model equations: C. R. Henderson, Biometrics 31 (1975) 423-447; restricted likelihood after
H. D. Patterson and R. Thompson, Biometrika 58 (1971) 545-554, in the form of D. Bates et al., Journal
of Statistical Software 67 (2015), 1, section 3.4.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats
from .solving import DENSE, Solved, solved

Levels = NDArray[np.int64]

_LEAST = 1e-4
"""Standard deviation of the least own scatter of an observation, as a share of the spread of all."""


@dataclass(frozen=True, slots=True)
class Factor:
    """A random factor. levels: of each observation, shape (n,), numbers from 0."""

    name: str
    levels: Levels


@dataclass(frozen=True, slots=True)
class Mean:
    """The fixed part at given standard deviations. coefficients: shape (q, d). covariance: of the
    coefficients row by row, (q d, q d)."""

    coefficients: Floats
    covariance: Floats


class MixedModel:
    """Observations (n, d), their known covariances (n, d, d), rows of the fixed part (n, q), and factors.

    residual: whether a further scatter of every observation is an unknown, s_0, named "residual" and the
    last of `names`. Raises ValueError for shapes that do not fit or a fixed part without full rank.
    """

    def __init__(
        self, y: Floats, known: Floats, design: Floats, factors: Sequence[Factor], *, residual: bool = False
    ) -> None:
        """Nothing is fitted yet."""
        n, d = y.shape
        if known.shape != (n, d, d) or len(design) != n or any(len(f.levels) != n for f in factors):
            raise ValueError("observations, covariances, rows and levels must be of one length")
        if np.linalg.matrix_rank(design) < design.shape[1]:
            raise ValueError("the rows of the fixed part do not have full rank")
        self.y, self.known, self.design = y, known, design
        self.factors = tuple(factors)
        self.names = tuple(f.name for f in factors) + (("residual",) if residual else ())
        self.scale = float(np.sqrt(np.mean((y - y.mean(axis=0)) ** 2))) or 1.0
        self._met = [np.bincount(f.levels) for f in factors]
        # Levels met more than once are unknowns, numbered through all factors; the others are -1.
        self._column: list[Levels] = []
        columns = 0
        for factor, met in zip(factors, self._met, strict=True):
            number = np.full(len(met), -1, dtype=np.int64)
            many = np.flatnonzero(met > 1)
            number[many] = columns + np.arange(len(many))
            columns += len(many)
            self._column.append(number[factor.levels])
        self._columns = columns

    @property
    def freedom(self) -> int:
        """Observed components less fixed coefficients."""
        n, d = self.y.shape
        return int((n - self.design.shape[1]) * d)

    def deviance(self, sds: Sequence[float]) -> float:
        """-2 log of the restricted likelihood at these standard deviations, in the order of `names`."""
        return self._solved(sds).deviance

    def slope(self, sds: Sequence[float]) -> tuple[float, Floats]:
        """The deviance and its derivatives by the standard deviations; for as many unknowns as are solved
        dense."""
        at = self._solved(sds)
        m, d = at.solution.shape
        inverse = at.inverse(np.arange(m)).reshape(d, m, d, m)
        own = np.einsum("imim->m", inverse)
        gradient = np.zeros(len(sds))
        single, left = self._spare(at, inverse)
        for k, column in enumerate(self._column):
            many = np.unique(column[column >= 0])
            # Of unknowns of unit variance: how many there are, less what the data leave unsure of them.
            seen = len(many) * d - own[many].sum() - (at.solution[many] ** 2).sum()
            gradient[k] = 2.0 * seen / sds[k] if sds[k] > 0.0 else 0.0
            gradient[k] += 2.0 * sds[k] * (single - left)[column < 0].sum()
        if len(sds) > len(self.factors):
            gradient[-1] = 2.0 * sds[-1] * (single - left).sum()
        return at.deviance, gradient

    @staticmethod
    def _spare(at: Solved, inverse: Floats) -> tuple[Floats, Floats]:
        """Of each observation: trace of its block of P, and square of its P y."""
        weight = np.linalg.inv(at.scatter)
        unsure = np.einsum("na,iajb,nb->nij", at.rows, inverse, at.rows, optimize=True)
        trace = np.einsum("nii->n", weight) - np.einsum("nij,njk,nki->n", weight, unsure, weight)
        return trace, (np.einsum("nij,nj->ni", weight, at.residual) ** 2).sum(axis=1)

    @property
    def dense(self) -> bool:
        """Whether the unknowns are few enough for dense equations, and so for `slope`."""
        return bool((self._columns + self.design.shape[1]) * self.y.shape[1] <= DENSE)

    def mean(self, sds: Sequence[float]) -> Mean:
        """The fixed part by generalised least squares."""
        at = self._solved(sds)
        q, d = self.design.shape[1], self.y.shape[1]
        fixed = at.inverse(self._columns + np.arange(q))
        by_coefficient = fixed.reshape(d, q, d, q).transpose(1, 0, 3, 2).reshape(q * d, q * d)
        return Mean(at.solution[self._columns :], by_coefficient)

    def predicted(self, sds: Sequence[float], k: int) -> tuple[Floats, Levels]:
        """Best linear predictors of every level of factor k, drawn towards zero as far as the data are few,
        shape (levels, d), and how often each was met."""
        at, sd = self._solved(sds), float(sds[k])
        first, column, met = self._first(k), self._column[k], self._met[k]
        # Of a level that was met once, its share of what its observation differs from everything else.
        alone = sd * sd * np.linalg.solve(at.scatter[first], at.residual[first][:, :, None])[:, :, 0]
        many = column[first] >= 0
        alone[many] = sd * at.solution[column[first][many]]
        return np.asarray(alone, dtype=np.float64), met

    def unsure(self, sds: Sequence[float], k: int, levels: Sequence[int]) -> Floats:
        """What remains unknown of some levels of factor k: covariance of their predictors' errors,
        shape (len(levels), d, d)."""
        at, sd, d = self._solved(sds), float(sds[k]), self.y.shape[1]
        first, column = self._first(k), self._column[k]
        out = np.zeros((len(levels), d, d))
        for place, level in enumerate(levels):
            j = first[level]
            if column[j] >= 0:
                out[place] = sd * sd * at.inverse(column[[j]])
            else:
                share = sd * sd * np.linalg.inv(at.scatter[j])
                out[place] = sd * sd * (np.eye(d) - share) + share @ at.unsure(int(j)) @ share.T
        return out

    def departures(self, sds: Sequence[float]) -> Floats:
        """Each observation less all that it shares with others, put on equal footing: in its own scatter's
        directions and scaled to the average scatter, (n, d), in the unit of the observations."""
        at = self._solved(sds)
        root = np.linalg.cholesky(at.scatter)
        whitened = np.linalg.solve(root, at.residual[:, :, None])[:, :, 0]
        return np.asarray(whitened * np.sqrt(np.einsum("nii->n", at.scatter).mean() / self.y.shape[1]))

    def apart(self, sds: Sequence[float]) -> tuple[Floats, Floats]:
        """P y and the diagonal blocks of P, shapes (n, d) and (n, d, d): P y is what each observation differs
        from everything else by, in units of its inverse covariance, and P its covariance."""
        at = self._solved(sds)
        inverse = np.linalg.inv(at.scatter)
        unsure = np.array([at.unsure(j) for j in range(len(self.y))])
        return np.einsum("nij,nj->ni", inverse, at.residual), inverse - inverse @ unsure @ inverse

    def _first(self, k: int) -> Levels:
        """An observation of each level; of a level that was met once, the one."""
        levels = self.factors[k].levels
        first = np.zeros(len(self._met[k]), dtype=np.int64)
        first[levels[::-1]] = np.arange(len(levels))[::-1]
        return first

    def own_scatter(self, sds: Sequence[float]) -> Floats:
        """Covariance of each observation about what the others may share with it, (n, d, d)."""
        n, d = self.y.shape
        extra = np.zeros(n)
        for sd, column in zip(sds, self._column, strict=False):
            extra += np.where(column < 0, sd * sd, 0.0)
        if len(sds) > len(self.factors):
            extra += sds[-1] ** 2
        # Something must stand in for nothing, which has no inverse.
        extra += _LEAST**2 * self.scale**2
        return np.asarray(self.known + extra[:, None, None] * np.eye(d))

    def _solved(self, sds: Sequence[float]) -> Solved:
        weights = np.ones(self._columns + self.design.shape[1])
        for sd, column in zip(sds, self._column, strict=False):
            weights[column[column >= 0]] = sd
        rows = (
            self._rows * weights
            if isinstance(self._rows, np.ndarray)
            else self._rows.multiply(weights).tocsr()
        )
        return solved(self.y, self.own_scatter(sds), rows, self._columns)

    @cached_property
    def _rows(self) -> Any:
        """Each observation's unknowns, unscaled: ones for its levels, then its row of the fixed part."""
        n = len(self.y)
        levels = [(np.flatnonzero(column >= 0), column[column >= 0]) for column in self._column]
        at, to = (np.concatenate([pair[k] for pair in levels] + [np.zeros(0, np.int64)]) for k in (0, 1))
        if self.dense:
            random = np.zeros((n, self._columns))
            random[at, to] = 1.0
            return np.column_stack([random, self.design])
        from scipy.sparse import coo_array, csr_array, hstack

        met = coo_array((np.ones(len(at)), (at, to)), shape=(n, self._columns))
        return csr_array(hstack([met, csr_array(self.design)]))

    @cached_property
    def confounded(self) -> tuple[tuple[str, ...], ...]:
        """Groups of names whose standard deviations only show together: they tie the same observations.

        Two factors with the same levels, or two that are never met twice, cannot be told apart.
        """
        n = len(self.y)
        ties: dict[bytes, list[str]] = {}
        for factor in self.factors:
            _, first, inverse = np.unique(factor.levels, return_index=True, return_inverse=True)
            ties.setdefault(first[inverse].tobytes(), []).append(factor.name)
        if len(self.names) > len(self.factors):
            ties.setdefault(np.arange(n).tobytes(), []).append("residual")
        return tuple(tuple(names) for names in ties.values() if len(names) > 1)
