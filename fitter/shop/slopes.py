"""How the deviance of the mixed model changes with each variance: its first and second derivatives.

With P what the observations' inverse covariance leaves once the fixed part is taken out, and V_k the
derivative of their covariance by the k-th variance: first tr P V_k - y'P V_k P y, second
-tr P V_k P V_l + 2 y'P V_k P V_l P y, whose expectation is tr P V_k P V_l. After R. I. Jennrich and
M. D. Schluchter, Biometrics 42 (1986) 805-820, and, where the traces would be dear, A. R. Gilmour,
R. Thompson and B. R. Cullis, Biometrics 51 (1995) 1440-1450.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats
from .solving import Solved

_NEAR = 1e-4
"""Step of a difference, as a share of the variance."""


@dataclass(frozen=True, slots=True)
class Slopes:
    """gradient: of the deviance, (k,). curved: its second derivatives, expected: what they are on average
    if the variances are true, both (k, k)."""

    deviance: float
    gradient: Floats
    curved: Floats
    expected: Floats


def by_formula(at: Solved, own: Floats) -> Slopes:
    """own: (k, n), ones where a variance scatters an observation by itself."""
    system = at.system
    inverse = at.inverse_scatter
    first = system.products(inverse)
    # N: what is unsure of the unscaled unknowns. F: what remains of them; Q = U'PU.
    unsure = at.weights * at.factor.solve(np.diag(at.weights[:, 0]))
    left = -unsure @ first
    left[np.diag_indices(len(left))] += 1.0
    middle = first @ left
    blocks = [system.places(np.unique(c[c >= 0])).ravel() for c in system.columns]
    alone = [k for k in range(len(own)) if own[k].any()]
    squared = inverse @ inverse
    pairs = {k: system.products(squared * own[k][:, None, None]) for k in alone}
    seen = {k: left.T @ pairs[k] @ left for k in alone}
    rows = _unsure_rows(at, unsure)
    traces = np.zeros(len(own))
    both = np.zeros((len(own), len(own)))
    trace = np.einsum("nii->n", inverse) - np.einsum("nij,nji->n", squared, rows)
    plain = np.einsum("nii->n", squared) - 2.0 * np.einsum("nij,nji->n", squared @ inverse, rows)
    for k in range(len(own)):
        mine = blocks[k] if k < len(blocks) else np.zeros(0, dtype=np.int64)
        traces[k] = middle[mine, mine].sum() + own[k] @ trace
        for other in range(k + 1):
            theirs = blocks[other] if other < len(blocks) else np.zeros(0, dtype=np.int64)
            value = float((middle[np.ix_(mine, theirs)] ** 2).sum())
            if other in seen:
                value += seen[other][mine, mine].sum()
            if k in seen:
                value += seen[k][theirs, theirs].sum()
            if k in seen and other in seen:
                value += float((own[k] * own[other]) @ plain)
                value += float(((unsure @ pairs[k]) * (unsure @ pairs[other]).T).sum())
            both[k, other] = both[other, k] = value
    felt, average = _felt(at, own)
    return Slopes(at.deviance, traces - felt, 2.0 * average - both, both)


def by_difference(
    at: Solved,
    own: Floats,
    deviance: Callable[[Sequence[float]], float],
    sds: Sequence[float],
    scale: float,
) -> Slopes:
    """The traces by differences of the deviance itself; for second derivatives the average of the true and
    the expected ones, which needs none."""
    variances = np.square(sds)
    gradient = np.zeros(len(own))
    for k, variance in enumerate(variances.tolist()):
        step = _NEAR * max(variance, _NEAR * scale * scale)
        ends = []
        for moved in (variance + step, max(variance - step, 0.0)):
            there = variances.copy()
            there[k] = moved
            ends.append((deviance(np.sqrt(there).tolist()), moved))
        gradient[k] = (ends[0][0] - ends[1][0]) / (ends[0][1] - ends[1][1])
    _, average = _felt(at, own)
    return Slopes(at.deviance, gradient, average, average)


def _felt(at: Solved, own: Floats) -> tuple[Floats, Floats]:
    """y'P V_k P y and y'P V_k P V_l P y."""
    d = at.system.components
    shared = at.system.gather(at.pulled).reshape(-1, d)
    felt = own.T[:, None, :] * at.pulled
    for k, column in enumerate(at.system.columns):
        met = np.flatnonzero(column >= 0)
        felt[met, :, k] += shared[column[met]]
    second = np.einsum("ndk,ndl->kl", felt, at.fitted_to(felt))
    return np.einsum("ndk,nd->k", felt, at.pulled[:, :, 0]), (second + second.T) / 2.0


def _unsure_rows(at: Solved, unsure: Floats) -> Floats:
    """U N U' of each observation by itself, (n, d, d)."""
    rows, m, d = at.system.rows, at.system.unknowns, at.system.components
    parts = unsure.reshape(m, d, m, d)
    out = np.empty((len(rows), d, d))
    for i, j in np.ndindex(d, d):
        out[:, i, j] = ((rows @ parts[:, i, :, j]) * rows).sum(axis=1)
    return out
