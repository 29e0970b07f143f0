"""A mixture of normal errors as one Student error: what plans, proofs and ledgers reckon with."""

import numpy as np

from ..numeric.basis import Floats
from ..numeric.quantiles import plane_factor
from .freedom import directions, freedom_of_ratio, radius, whitening

_HEAVY = 3.0
"""Degrees of freedom of the Student error whose shape is taken: rare and far parts stretch it little."""

_ROUNDS = 4


def summed_up(weight: Floats, spreads: Floats) -> tuple[Floats, float]:
    """Scale matrix (2, 2) and degrees of freedom of a Student error with the same half and the same 95 %.

    weight: shares, (m,). spreads: second moments of each part about the vector that is reported, (m, 2, 2).
    """
    shape = _shape(weight, spreads)
    half = whitening(shape)
    each_way = directions(half @ spreads @ half.T)
    near, far = (radius(weight, each_way, p, 1e-3) for p in (0.5, 0.95))
    freedom = freedom_of_ratio(far / near)
    return shape * (far / plane_factor(0.95, freedom)) ** 2, freedom


def _shape(weight: Floats, spreads: Floats) -> Floats:
    """The scatter of a Student error that fits the parts (J. T. Kent, D. E. Tyler, Ann. Statist. 19 (1991)
    2102-2119; from memory): each counts the less the farther it is."""
    shape = np.tensordot(weight, spreads, 1)
    flat = spreads.reshape(-1, 4)
    for _ in range(_ROUNDS):
        far = flat @ np.linalg.inv(shape).ravel()
        shape = np.tensordot(weight * (_HEAVY + 2.0) / (_HEAVY + far), spreads, 1)
    return np.asarray(shape)
