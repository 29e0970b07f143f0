"""What may move the dial in the course of a sweep, as columns of the model: the sense of turning, a
steady drift, and one that bends.

A drift is told from an offset by places that were read at two times (a closing reading, one in
mid-sweep, another turn) or by an order of stations that does not run round with the clock. Whether
it can be is asked of the geometry: what would one more unknown cost the vector? It is asked twice, of
the times and of the mere order: a pause in mid-sweep makes a steady drift look like a step, which no
place that was read once can tell from an offset either.
"""

from collections.abc import Sequence

import numpy as np

from ..errors import TooFewStations
from ..numeric.basis import Floats
from ..reading import checks
from ..reading.stations import Stations
from .model import harmonic_design, supported_harmonics

_DEAREST = 0.7
"""A column is fitted if it adds no more than this share to the variance of the vector. One turn in
order adds .79 to .93, the first station read again in mid-sweep and at the end .6."""

_LEAST_SPARE = 3


def columns(stations: Stations) -> dict[str, Floats]:
    """The columns that these stations can tell apart, by name: "sense", "drift", "bend". Where the last one
    repeats the first, a steady drift can be told anyhow."""
    found: dict[str, Floats] = {}
    if min((stations.sense > 0).sum(), (stations.sense < 0).sum()) >= 3:
        found["sense"] = stations.sense / 2.0
    span = float(stations.t[-1] - stations.t[0]) if len(stations) else 0.0
    if not span > 0.0:
        return found
    pace = (stations.t - stations.t[0]) / span
    order = np.linspace(0.0, 1.0, len(stations))
    if (
        checks.closure(stations) is not None
        or stations.turns() >= 2
        or all(is_cheap(stations, list(found.values()), column) for column in (pace, order))
    ):
        found["drift"] = pace
        bend, by_order = (4.0 * column * (1.0 - column) for column in (pace, order))
        if all(is_cheap(stations, list(found.values()), column) for column in (bend, by_order)):
            found["bend"] = bend
    return found


def is_cheap(stations: Stations, known: Sequence[Floats], column: Floats) -> bool:
    """Whether the vector stays nearly as sure with a further column in the model."""
    extras = list(known)
    try:
        harmonics = supported_harmonics(stations, len(extras) + 1)
    except TooFewStations:
        return False
    design = harmonic_design(stations, harmonics, extras)
    if len(stations) < design.shape[1] + 1 + _LEAST_SPARE:
        return False
    # The vector's rows of the pseudo-inverse; the rest of the column is what tells it apart.
    inverse = np.linalg.pinv(design)
    rest = column - design @ (inverse @ column)
    room = float(rest @ rest)
    if room < 1e-6 * float(column @ column):
        return False
    leak = inverse[1:3] @ column
    return float(leak @ leak) / room <= _DEAREST * float((inverse[1:3] ** 2).sum())
