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

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats
from .slopes import Slopes, by_difference, by_formula
from .solving import DENSE, Solved, System

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
    last of `names`.
    """

    def __init__(
        self, y: Floats, known: Floats, design: Floats, factors: Sequence[Factor], *, residual: bool = False
    ) -> None:
        self.y, self.known, self.design = y, known, design
        self.factors = tuple(factors)
        self.residual = residual
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
        # Which observations each standard deviation scatters by themselves, with nothing shared.
        own = [(column < 0).astype(np.float64) for column in self._column]
        self._own = np.array([*own, np.ones(len(y))] if residual else own).reshape(len(self.names), len(y))
        self._system = System(y, design, self._column, columns, dense=self.dense)
        self._last: tuple[tuple[float, ...], Solved] | None = None

    @property
    def freedom(self) -> int:
        """Observed components less fixed coefficients."""
        n, d = self.y.shape
        return int((n - self.design.shape[1]) * d)

    @property
    def dense(self) -> bool:
        """Whether the unknowns are few enough for dense equations, and so for derivatives by formula."""
        return bool((self._columns + self.design.shape[1]) * self.y.shape[1] <= DENSE)

    def deviance(self, sds: Sequence[float]) -> float:
        """-2 log of the restricted likelihood at these standard deviations, in the order of `names`."""
        return self._solved(sds).deviance

    def slopes(self, sds: Sequence[float]) -> Slopes:
        """The deviance and its derivatives by the variances, in the order of `names`."""
        if self.dense:
            return by_formula(self._solved(sds), self._own)
        return by_difference(self._solved(sds), self._own, self.deviance, sds, self.scale)

    def mean(self, sds: Sequence[float]) -> Mean:
        """The fixed part by generalised least squares."""
        at = self._solved(sds)
        fixed = at.inverse(self._columns + np.arange(self.design.shape[1]))
        return Mean(self._unknowns(at)[self._columns :], fixed)

    def predicted(self, sds: Sequence[float], k: int) -> tuple[Floats, Levels]:
        """Best linear predictors of every level of factor k, drawn towards zero as far as the data are few,
        shape (levels, d), and how often each was met."""
        at, sd = self._solved(sds), float(sds[k])
        first, column, met = self._first(k), self._column[k], self._met[k]
        # Of a level that was met once, its share of what its observation differs from everything else.
        values = sd * sd * at.pulled.reshape(self.y.shape)[first]
        many = column[first] >= 0
        values[many] = sd * self._unknowns(at)[column[first][many]]
        return np.asarray(values, dtype=np.float64), met

    def unsure(self, sds: Sequence[float], k: int, levels: Sequence[int]) -> Floats:
        """What remains unknown of some levels of factor k: covariance of their predictors' errors,
        shape (len(levels), d, d)."""
        at, sd = self._solved(sds), float(sds[k])
        first = self._first(k)[np.asarray(levels, dtype=np.int64)]
        column, unit = self._column[k][first], np.eye(self.y.shape[1])
        out = np.zeros((len(first), *unit.shape))
        for some in _handfuls(np.flatnonzero(column >= 0)):
            out[some] = sd * sd * at.own(column[some])
        for some in _handfuls(np.flatnonzero(column < 0)):
            share = sd * sd * at.inverse_scatter[first[some]]
            spread = share @ at.unsure(first[some]) @ share.transpose(0, 2, 1)
            out[some] = sd * sd * (unit - share) + spread
        return out

    def departures(self, sds: Sequence[float]) -> Floats:
        """Each observation less all that it shares with others, put on equal footing: in its own scatter's
        directions and scaled to the average scatter, (n, d), in the unit of the observations."""
        at = self._solved(sds)
        whitened = np.linalg.solve(np.linalg.cholesky(at.scatter), at.left).reshape(self.y.shape)
        usual = np.einsum("nii->n", at.scatter).mean() / self.y.shape[1]
        return np.asarray(whitened * np.sqrt(usual))

    def apart(self, sds: Sequence[float]) -> tuple[Floats, Floats]:
        """P y and the diagonal blocks of P, shapes (n, d) and (n, d, d): P y is what each observation differs
        from everything else by, in units of its inverse covariance, and P its covariance."""
        at = self._solved(sds)
        inverse = at.inverse_scatter
        unsure = np.concatenate([at.unsure(some) for some in _handfuls(np.arange(len(self.y)))])
        return at.pulled.reshape(self.y.shape), inverse - inverse @ unsure @ inverse

    def _scatter(self, sds: Sequence[float]) -> Floats:
        # Something must stand in for nothing, which has no inverse.
        extra = np.square(sds) @ self._own + _LEAST**2 * self.scale**2
        return np.asarray(self.known + extra[:, None, None] * np.eye(self.y.shape[1]))

    def _unknowns(self, at: Solved) -> Floats:
        """(m, d)."""
        return at.solution.reshape(-1, self.y.shape[1])

    def _first(self, k: int) -> Levels:
        """An observation of each level; of a level that was met once, the one."""
        levels = self.factors[k].levels
        first = np.zeros(len(self._met[k]), dtype=np.int64)
        first[levels[::-1]] = np.arange(len(levels))[::-1]
        return first

    def _solved(self, sds: Sequence[float]) -> Solved:
        """Solved once for all that is asked at the same standard deviations."""
        key = tuple(map(float, sds))
        if self._last is None or self._last[0] != key:
            weights = np.ones(self._system.unknowns)
            for sd, column in zip(key, self._column, strict=False):
                weights[column[column >= 0]] = sd
            self._last = (key, self._system.at(self._scatter(key), weights))
        return self._last[1]


def _handfuls(which: Levels) -> list[Levels]:
    """A hundred at a time: each is a column of right sides as long as there are unknowns."""
    return [np.asarray(some) for some in np.array_split(which, len(which) // 100 + 1)]
