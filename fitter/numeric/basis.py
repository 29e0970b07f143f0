"""Rows of the harmonic model: 1, cos th, sin th, cos 2th, sin 2th, ... cos Kth, sin Kth."""

from collections.abc import Iterable, Sequence

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
    c1, s1 = np.cos(rad), np.sin(rad)
    c, s = c1, s1
    for k in range(1, harmonics + 1):
        rows[:, 2 * k - 1], rows[:, 2 * k] = c, s
        c, s = c * c1 - s * s1, s * c1 + c * s1
    return rows


def in_blocks(lengths: Sequence[int], columns: Iterable[Iterable[Floats | float]]) -> Floats:
    """Columns that each of some tables has for itself as columns of all their rows, (n, any): nothing stands
    beside them. lengths: of the tables. columns: of each."""
    ends, found = np.cumsum([0, *lengths]), []
    for k, own in enumerate(columns):
        for column in own:
            found.append(np.zeros(ends[-1]))
            found[-1][ends[k] : ends[k + 1]] = column
    return np.array(found).T.reshape(ends[-1], len(found))


def spanned(table: Floats) -> Floats:
    """Directions that the columns span, and no more: few places read often leave some of them alike, and what
    an arbitrary direction would do instead is another thing on each machine. (n, m)."""
    left, sizes, _ = np.linalg.svd(table, full_matrices=False)
    return np.asarray(left[:, sizes > 1e-9 * sizes[0]])
