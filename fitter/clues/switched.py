"""A unit key that was pressed in mid-sweep: on a dial zeroed near its readings nothing jumps."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from ..numeric.basis import Floats
from ..result import Remark
from ..units import MM_PER_INCH
from .bores import odds
from .sweeping import Looked, Weighed

_OFTEN: Final = 0.003
"""Sweeps in which the unit changes (common practice, no source)."""

_WORTH: Final = 5.0
"""By how much (logarithm of a density) a rescaled tail must fit a plain circle better to be looked at."""


def switched(looked: Looked) -> Iterator[Weighed]:
    """That the readings after some station, or one alone, agree with the others only in another unit."""
    n, value = len(looked), looked.stations.value
    if n < _FEWEST:
        return
    rows = looked.stations.basis[:, : 5 if n >= _FOR_AN_OVAL else 3]
    before = _misfit(rows, value, looked.count)
    tails = [np.arange(first, n) for first in range(2, n - _LEAST + 1)]
    for there in (*tails, *np.arange(n)[:, None]):
        others = np.setdiff1d(np.arange(n), there) if len(there) == 1 else np.arange(there[0])
        if float(np.ptp(value[others])) < _HEAD * looked.count:
            continue  # the others do not tell how large it should be
        for factor in (MM_PER_INCH, 1.0 / MM_PER_INCH):
            if factor > 1.0 and float(np.ptp(np.append(value[there], 0.0))) < _MOVES * looked.count:
                continue  # a dial that stands says nothing of its unit
            scaled = value.copy()
            scaled[there] *= factor
            # Readings in another unit are that much denser.
            stretch = len(there) * float(np.log(factor))
            if before - _misfit(rows, scaled, looked.count) + stretch < _WORTH:
                continue
            blur = looked.blur.copy()
            blur[there] *= max(factor, 1.0) ** 2
            read = looked.worlds.explains(scaled - np.median(scaled), blur)
            after, to = looked.stations.deg[[max(int(there[0]) - 1, 0), int(there[0])]].tolist()
            said = Remark.warning(
                "unit_changed", after_deg=after, before_deg=to, smaller=factor > 1.0, stations=len(there)
            )
            yield Weighed(odds(read + stretch, looked.with_a_fault, _OFTEN / (4 * (n - 1))), said)


_FOR_AN_OVAL: Final = 8
_FEWEST: Final = 6
_LEAST: Final = 3
"""Readings in the other unit: fewer are bad stations."""

_HEAD: Final = 4.0
"""Steps of the display by which the readings before must differ."""

_MOVES: Final = 1.5
"""Steps of the display that readings in another unit must differ by."""


def _misfit(rows: Floats, value: Floats, count: float) -> float:
    """Half of n times the logarithm of the mean square about a plain fit: minus the logarithm of its
    density."""
    left = value - rows @ np.linalg.lstsq(rows, value, rcond=None)[0]
    return float(len(value) * np.log((left @ left) / len(value) + count * count) / 2.0)
