"""Which station to read next, where the circle was not covered."""

import numpy as np

from ..numeric.basis import harmonic_rows
from ..numeric.leastsquares import LeastSquares
from ..reading.stations import Stations

_EVERY_DEG = 15.0


def next_station(stations: Stations) -> float:
    """The angle, of those every 15 degrees, at which one more reading would help the vector most.

    It is the one that makes the sum of the two variances of the offset smallest (A-optimal design).
    """
    factor = LeastSquares(3)
    for row in stations.basis[:, :3].tolist():
        factor.add(row, 0.0)
    angles = np.arange(0.0, 360.0, _EVERY_DEG)
    remaining = []
    for row in harmonic_rows(angles, 1).tolist():
        more = factor.copy()
        more.add(row, 0.0)
        covariance = more.unscaled_covariance()
        remaining.append(float(covariance[1, 1] + covariance[2, 2]))
    return float(angles[int(np.argmin(remaining))])
