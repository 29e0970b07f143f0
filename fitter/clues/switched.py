"""A unit key that was pressed in mid-sweep: on a dial zeroed near its readings nothing jumps."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from ..numeric.basis import Floats, spanned
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
    lobes = spanned(looked.stations.basis[:, : 5 if n >= _FOR_AN_OVAL else 3])
    tails = np.arange(n) >= np.arange(2, n - _LEAST + 1)[:, None]
    theirs = np.concatenate([tails, np.eye(n, dtype=bool)])
    factors = np.array([MM_PER_INCH, 1.0 / MM_PER_INCH])
    # Readings in another unit are that much denser.
    stretch = np.log(factors) * theirs.sum(axis=1)[:, None]
    scaled = np.where(theirs[:, None], factors[:, None] * value, value)
    better = _misfit(lobes, value, looked.count) - _misfit(lobes, scaled, looked.count) + stretch
    # The others must tell how large it should be, and a dial that stands says nothing of its unit.
    other = np.where(theirs[:, :1], value[1], value[0])
    told = np.ptp(np.where(theirs, other, value), axis=1) >= _HEAD * looked.count
    moves = np.ptp(np.where(theirs, value, 0.0), axis=1) >= _MOVES * looked.count
    worth = (better >= _WORTH) & told[:, None] & (moves[:, None] | (factors < 1.0))
    for at, by in np.argwhere(worth).tolist():
        blur = np.where(theirs[at], looked.blur * max(factors[by], 1.0) ** 2, looked.blur)
        read = looked.worlds.explains(scaled[at, by] - np.median(scaled[at, by]), blur)
        first = int(np.argmax(theirs[at]))
        after, to = looked.stations.deg[[max(first - 1, 0), first]].tolist()
        facts = {"smaller": bool(factors[by] > 1.0), "stations": int(theirs[at].sum())}
        said = Remark.warning("unit_changed", after_deg=after, before_deg=to, **facts)
        yield Weighed(odds(read + float(stretch[at, by]), looked.with_a_fault, _OFTEN / (4 * (n - 1))), said)


_FOR_AN_OVAL: Final = 8
_FEWEST: Final = 6
_LEAST: Final = 3
"""Readings in the other unit: fewer are bad stations."""

_HEAD: Final = 4.0
"""Steps of the display by which the readings before must differ."""

_MOVES: Final = 1.5
"""Steps of the display that readings in another unit must differ by."""


def _misfit(lobes: Floats, value: Floats, count: float) -> Floats:
    """Half of n times the logarithm of the mean square about a plain fit: minus the logarithm of its
    density. lobes: orthogonal directions, (n, m). value: (..., n)."""
    left = value - (value @ lobes) @ lobes.T
    return np.asarray(len(lobes) * np.log((left * left).mean(axis=-1) + count * count) / 2.0)
