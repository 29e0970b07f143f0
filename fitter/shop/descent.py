"""The variances, none below zero, for which the deviance is least: found by Newton's method."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ..numeric.basis import Floats
from .slopes import Slopes

Mask = NDArray[np.bool_]

_CLOSE = 0.05
"""Promised fall of the deviance below which the true second derivatives are the better guide."""

_DONE = 1e-9
"""Promised fall at which the next step, whose promise is of its square, would change nothing."""

_STALLED = 1e-7
"""Fall, as a share of the deviance, that is next to none: where sweeps claim to be far better than they
repeat, the slopes are known to few digits, and Newton's method would go round for ever."""

_PATIENCE = 3
_LONGEST = 100
_SHORTEST = 12


def least(
    slopes: Callable[[Floats], Slopes], start: Floats, moving: Mask, most: float
) -> tuple[Floats, Slopes]:
    """Variances of least deviance, and the slopes there. slopes: at given variances. moving: True for those
    that may change. most: the largest variance looked at.

    Far off a step follows the expected second derivatives (Fisher's scoring, R. I. Jennrich and P. F.
    Sampson, Technometrics 18 (1976) 11-17), near by the true ones; variances that push below nothing are
    held there.
    """
    at, here = start.copy(), slopes(start)
    stalled = 0
    for _ in range(_LONGEST):
        free = moving & ((at > 0.0) | (here.gradient < 0.0))
        step, promise = _step(here, free)
        if promise < 1e-14:
            break
        last = promise < max(_DONE, 1e-13 * abs(here.deviance))
        for halvings in range(_SHORTEST):
            there = np.clip(at + step / 2.0**halvings, 0.0, most)
            then = slopes(there)
            # A deviance of thousands is only known to so many digits.
            if then.deviance <= here.deviance + 1e-12 * abs(here.deviance):
                break
        else:
            break
        stalled = stalled + 1 if here.deviance - then.deviance < _STALLED * abs(here.deviance) else 0
        at, here = there, then
        if last or stalled > _PATIENCE:
            break
    return at, here


def _step(here: Slopes, free: Mask) -> tuple[Floats, float]:
    """The step, and by how much the deviance is promised to fall."""
    which = np.flatnonzero(free)
    step = np.zeros(len(here.gradient))
    if len(which) == 0:
        return step, 0.0
    pull = here.gradient[which]
    for table in (here.curved, here.expected):
        square = table[np.ix_(which, which)]
        values = np.linalg.eigvalsh(square)
        step[which] = -np.linalg.lstsq(square, pull, rcond=1e-13)[0]
        promise = -0.5 * float(pull @ step[which])
        if values[0] > 0.0 and (table is here.expected or 0.0 <= promise < _CLOSE):
            break
    return step, max(promise, 0.0)
