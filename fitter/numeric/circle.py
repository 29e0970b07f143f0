"""The circle that fits points best, in true distances.

Minimises the sum of squared distances from the points to the circle by Gauss and Newton from the algebraic
circle (I. Kasa, IEEE Trans. Instrum. Meas. 25 (1976) 8-14) as a start. W. Gander, G. H. Golub, R. Strebel,
BIT 34 (1994) 558-578.
"""

import math

import numpy as np

from .basis import Floats

_STEPS = 100


def fit_circle(points: Floats) -> tuple[float, float, float]:
    """Geometric circle through points of shape (n, 2), n >= 3, not all on a line: its centre x, y and its
    radius, in their unit."""
    shift = points.mean(axis=0)
    px, py = (points - shift).T
    ones = np.ones(len(px))
    a, b, c = np.linalg.lstsq(np.column_stack([px, py, ones]), px * px + py * py, rcond=None)[0].tolist()
    x, y = a / 2.0, b / 2.0
    radius = math.sqrt(c + x * x + y * y)
    for _ in range(_STEPS):
        dx, dy = px - x, py - y
        distance = np.hypot(dx, dy)
        jacobian = np.column_stack([-dx / distance, -dy / distance, -ones])
        ex, ey, er = np.linalg.lstsq(jacobian, radius - distance, rcond=None)[0].tolist()
        x, y, radius = x + ex, y + ey, radius + er
        if math.hypot(ex, ey) + abs(er) <= 1e-15 * radius:
            break
    return x + float(shift[0]), y + float(shift[1]), radius
