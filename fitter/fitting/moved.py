"""Drift or knock? A closing reading that is off says that something moved, not when.

It is spread over the sweep as a steady drift, which is the usual case. A knock too small to be named
would have shifted only what came after it, and the vector would be another one. So every way in
which the zero may have moved is weighed by how well it explains the readings, and how far their
vectors lie from the one that is reported goes into the budget (model averaging: J. A. Hoeting et
al., Statistical Science 14 (1999) 382-417).
"""

import math

import numpy as np

from ..errors import TooFewStations
from ..numeric.basis import Floats
from ..reading.stations import Stations
from .model import harmonic_design, supported_harmonics

_USUAL = 0.5
"""Probability beforehand that a zero which moved did so all along; a knock between any two stations is
taken for equally likely (a judgement, no source)."""

_TELLING = 2.0
"""A closing reading tells that something moved from this many standard deviations of its difference."""

_MOST = 200
"""Sweeps of more stations show a knock well enough to have it named."""


def doubt(stations: Stations, extras: list[Floats]) -> Floats:
    """Covariance of the vector (x, y), mm^2, shape (2, 2), for not knowing when the zero moved.

    stations: with the closing reading, which is the last. extras: further columns, without the drift.
    """
    n = len(stations)
    try:
        harmonics = min(2, supported_harmonics(stations, len(extras) + 1))
    except TooFewStations:
        return np.zeros((2, 2))
    base = harmonic_design(stations, harmonics, extras)
    freedom = n - base.shape[1] - 1
    if n > _MOST or freedom < 1:
        return np.zeros((2, 2))
    pace = (stations.t - stations.t[0]) / (stations.t[-1] - stations.t[0])
    steps = (np.arange(n)[:, None] >= np.arange(1, n)[None, :]).astype(np.float64)
    ways = np.column_stack([pace, steps])
    inverse = np.linalg.pinv(base)
    told = ways - base @ (inverse @ ways)
    room = (told * told).sum(axis=0)
    usable = room > 1e-6
    usable[0] = True
    if room[0] <= 1e-6:
        return np.zeros((2, 2))
    residual = stations.value - base @ (inverse @ stations.value)
    size = np.where(usable, told.T @ residual / np.where(usable, room, 1.0), 0.0)
    rest = np.maximum(
        float(residual @ residual) - size**2 * room, 1e-12 * float(residual @ residual) + 1e-300
    )
    rest = np.where(usable, rest, math.inf)
    closure = float(stations.value[-1] - stations.value[0])
    if closure**2 <= _TELLING**2 * 2.0 * float(rest.min()) / freedom:
        return np.zeros((2, 2))
    prior = np.full(n, (1.0 - _USUAL) / (n - 1))
    prior[0] = _USUAL
    # The likelihood with size and scatter integrated out, both beforehand anywhere.
    log = np.log(prior) - 0.5 * freedom * np.log(rest) - 0.5 * np.log(np.where(usable, room, 1.0))
    weight = np.exp(log - log[usable].max()) * usable
    weight /= weight.sum()
    # What each way takes out of the first harmonic, compared with the way that is reported.
    apart = (inverse @ ways)[[2, 1]] * size
    apart = apart - apart[:, :1]
    return np.asarray((apart * weight) @ apart.T)
