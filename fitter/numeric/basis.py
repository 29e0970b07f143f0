"""Rows of the harmonic model: 1, cos th, sin th, cos 2th, sin 2th, ... cos Kth, sin Kth."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def harmonic_rows(deg: Floats, harmonics: int) -> Floats:
    """Basis rows, shape (n, 1 + 2 harmonics), for n angles in degrees.

    Harmonics above the first come from the angle-addition recurrence: two multiplications each
    instead of two calls, and the same bits whatever the block's length.
    """
    rad = np.deg2rad(deg)
    rows = np.empty((len(rad), 1 + 2 * harmonics))
    rows[:, 0] = 1.0
    if harmonics == 0:
        return rows
    c1, s1 = np.cos(rad), np.sin(rad)
    c, s = c1, s1
    for k in range(1, harmonics + 1):
        rows[:, 2 * k - 1], rows[:, 2 * k] = c, s
        c, s = c * c1 - s * s1, s * c1 + c * s1
    return rows


def spanned(table: Floats) -> Floats:
    """Directions that the columns span, and no more: few places read often leave some of them alike, and what
    an arbitrary direction would do instead is another thing on each machine. (n, m)."""
    left, sizes, _ = np.linalg.svd(table, full_matrices=False)
    return np.asarray(left[:, sizes > 1e-9 * sizes[0]])
