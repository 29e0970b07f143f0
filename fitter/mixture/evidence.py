"""The sum over all sizes. At each node of the grid the readings are Gaussian, so that the vector, its
covariance and the evidence are sums over one eigenbasis:

    y = F b + C z + e,  b flat, z ~ N(0, v(node)), e ~ N(0, s(node)^2)

S = C v C' is taken apart once for each choice of form and drift. The noise adds to its eigenvalues, and a
fault x of size N(0, d^2) is a step of rank one from there (G is the metric that sees no flat column):

    log evidence += -log(1 + d^2 x'Gx) / 2 + (x'Gy)^2 / (x'Gx + 1 / d^2) / 2
"""

from dataclasses import dataclass

import numpy as np

from ..numeric.basis import Floats, spanned


@dataclass(frozen=True, slots=True)
class Grid:
    """Nodes as combinations of v, (k, p) variances of the columns, with log weights (k,), and of noise
    variances (s,) with log weights (s,)."""

    variances: Floats
    log_weight: Floats
    noise: Floats
    log_noise: Floats


@dataclass(frozen=True, slots=True)
class Evidence:
    """All nodes, g of them, before any fault.

    log: evidence with its weight, (g,).
    vector: the last two flat unknowns, (g, 2), mm. covariance: theirs, (g, 2, 2), mm^2.
    room: x'Gx of each suspect, (h, g). pulls: x'Gy, and the vector's shift for a unit of it, (3, h, g).
    noise: variance of a reading, (g,), mm^2.
    basis: m directions in which form, drift and the flat columns lie, (n, m).
    gain: the vector from readings in those directions, (g, 2, m).
    """

    log: Floats
    vector: Floats
    covariance: Floats
    room: Floats
    pulls: Floats
    noise: Floats
    gain: Floats
    basis: Floats
    _white: Floats  # (k, s, m) weights in the eigenbasis
    _seen: Floats  # (k, m, h) suspects in the eigenbasis
    _flat: Floats  # (q, h, g) P^-1/2 F' K^-1 X
    _outside: Floats  # (h, h) products of what of the suspects lies outside

    def cross(self, i: int) -> Floats:
        """x_i' G x_j for all j, (h, g)."""
        found = _last((self._white * self._seen[:, None, :, i]) @ self._seen)
        for flat in self._flat:
            found -= flat[i] * flat
        found += self._outside[i, :, None] / self.noise
        return found


def _last(table: Floats) -> Floats:
    """Of nodes (k, s, ...) as (..., g)."""
    k, s = table.shape[:2]
    return np.ascontiguousarray(np.moveaxis(table, (0, 1), (-2, -1))).reshape(*table.shape[2:], k * s)


def evidence(
    flat: Floats, columns: Floats, suspects: Floats, value: Floats, grid: Grid, known: Floats
) -> Evidence:
    """The evidence of n readings.

    flat: (n, q), the vector's columns last. columns: (n, p). suspects: (n, h). value: (n,), mm.
    known: variance of each reading beside the noise, (n,), mm^2.
    """
    n, table = len(flat), np.column_stack([flat, columns])
    Q = spanned(table) if n > table.shape[1] else np.eye(n)
    c = Q.T @ columns
    sizes, axes = np.linalg.eigh((c * grid.variances[:, None, :]) @ c.T + (Q.T * known) @ Q)
    sizes = np.maximum(sizes, 0.0)
    f, x, y = Q.T @ flat, Q.T @ suspects, Q.T @ value
    turned = np.swapaxes(axes, 1, 2)
    readings = _Readings(
        basis=Q,
        turned=turned,
        white=1.0 / (sizes[:, None, :] + grid.noise[:, None]),
        flat=turned @ f,
        suspects=turned @ x,
        value=turned @ y,
        suspects_rest=suspects - Q @ x,
        value_rest=value - Q @ y,
        noise=grid.noise + (float(known.mean()) if n > Q.shape[1] else 0.0),
    )
    return _solved(readings, grid)


@dataclass(frozen=True, slots=True)
class _Readings:
    """n readings as they stand in the basis, k choices of form and drift, s of noise.

    basis: (n, m). turned: its eigenvectors, (k, m, m). white: weights, (k, s, m).
    flat: (k, m, q). suspects: (k, m, h). value: (k, m).
    suspects_rest, value_rest: what lies outside of it, (n, h) and (n,). noise: there, (s,).
    """

    basis: Floats
    turned: Floats
    white: Floats
    flat: Floats
    suspects: Floats
    value: Floats
    suspects_rest: Floats
    value_rest: Floats
    noise: Floats


def _solved(of: _Readings, grid: Grid) -> Evidence:
    k, s, m = of.white.shape
    n, q, g = len(of.basis), of.flat.shape[2], k * s
    wf = of.white[:, :, None, :] * np.swapaxes(of.flat, 1, 2)[:, None]  # (k, s, q, m)
    L = np.linalg.cholesky(wf @ of.flat[:, None])  # of P = F' K^-1 F
    half = np.linalg.inv(L)  # P^-1 = half' half
    fy = half @ (wf @ of.value[:, None, :, None])  # (k, s, q, 1)
    fx = half @ (wf.reshape(k, s * q, m) @ of.suspects).reshape(k, s, q, -1)  # (k, s, q, h)
    wy = of.white * of.value[:, None, :]
    misfit = (wy * of.value[:, None, :]).sum(2) - (fy[..., 0] ** 2).sum(2)
    misfit += (of.value_rest @ of.value_rest) / of.noise
    log_det = -np.log(of.white).sum(2) + (n - m) * np.log(of.noise)
    log = grid.log_weight[:, None] + grid.log_noise - 0.5 * (log_det + misfit)
    log -= np.log(np.diagonal(L, axis1=2, axis2=3)).sum(2)
    outside = of.suspects_rest.T @ of.suspects_rest
    room = of.white @ of.suspects**2 + np.diag(outside) / of.noise[:, None] - (fx**2).sum(2)
    pull = wy @ of.suspects + (of.value_rest @ of.suspects_rest) / of.noise[:, None] - (fx * fy).sum(2)
    back = np.swapaxes(half, 2, 3)[:, :, -2:]  # the vector's rows of P^-1/2
    pulls = np.concatenate([pull[:, :, None], back @ fx], axis=2)
    return Evidence(
        log=log.reshape(g),
        vector=(back @ fy)[..., 0].reshape(g, 2),
        covariance=(back @ np.swapaxes(back, 2, 3)).reshape(g, 2, 2),
        room=_last(np.maximum(room, 0.0)),
        pulls=_last(pulls),
        noise=np.broadcast_to(of.noise, (k, s)).reshape(g),
        gain=(back @ half @ wf @ of.turned[:, None]).reshape(g, 2, m),
        basis=of.basis,
        _white=of.white,
        _seen=of.suspects,
        _flat=_last(fx),
        _outside=outside,
    )
