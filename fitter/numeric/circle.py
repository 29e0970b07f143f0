"""The circle that fits points best, in true distances.

Minimises the sum of squared distances from the points to the circle by Gauss and Newton, each step
through the streaming least squares, from the algebraic circle (I. Kasa, IEEE Trans. Instrum. Meas.
25 (1976) 8-14) as a start. W. Gander, G. H. Golub, R. Strebel, BIT 34 (1994) 558-578.
"""

import math
from dataclasses import dataclass

import numpy as np

from .basis import Floats
from .leastsquares import LeastSquares

_STEPS = 100


@dataclass(frozen=True, slots=True)
class Circle:
    """Centre (x, y) and radius, in the unit of the points."""

    x: float
    y: float
    radius: float


def fit_circle(points: Floats) -> Circle:
    """Geometric circle through points of shape (n, 2), n >= 3.

    Raises ZeroDivisionError for points on a line.
    """
    shift = points.mean(axis=0)
    px, py = (points - shift).T
    start = LeastSquares(3)
    for u, v in zip(px.tolist(), py.tolist(), strict=True):
        start.add((u, v, 1.0), u * u + v * v)
    a, b, c = start.solve().tolist()
    x, y = a / 2.0, b / 2.0
    radius = math.sqrt(c + x * x + y * y)
    for _ in range(_STEPS):
        dx, dy = px - x, py - y
        distance = np.hypot(dx, dy)
        step = LeastSquares(3)
        jacobian = np.column_stack([-dx / distance, -dy / distance, -np.ones(len(px))])
        for row, residual in zip(jacobian.tolist(), (radius - distance).tolist(), strict=True):
            step.add(row, residual)
        ex, ey, er = step.solve().tolist()
        x, y, radius = x + ex, y + ey, radius + er
        if math.hypot(ex, ey) + abs(er) <= 1e-15 * radius:
            break
    return Circle(x + float(shift[0]), y + float(shift[1]), radius)
