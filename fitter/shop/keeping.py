"""How many dowels of each size last a month, where engines may get two unlike ones.

Engines come at random (Poisson), each pair of sizes at its own rate; of a size one dowel or two go at a time,
so its use in a month is a sum of independent counts, whose distribution is worked out exactly. Sizes that go
together run out together; the risk of running out of any is bounded by the sum over sizes (C. E. Bonferroni).
"""

import math
from collections.abc import Mapping, Sequence

import numpy as np

from ..numeric.basis import Floats
from .parallelstock import Kept

_MOST = 100_000


def keep_of_pairs(pairs: Sequence[tuple[float, float, float]], engines: float, risk: float) -> list[Kept]:
    """Dowels of each size for a month of `engines`, with at most `risk` of running out of any.

    pairs: offsets of the two dowels, mm, and the share of the engines that get them. Raises ValueError for a
    risk or a number of engines that is none.
    """
    if not (engines > 0.0 and 0.0 < risk < 1.0):
        raise ValueError("engines a month must be more than 0, and the risk between 0 and 1")
    sizes = sorted({size for first, second, _ in pairs for size in (first, second)})
    rates = {size: _rates(size, pairs, engines) for size in sizes}
    tails = {size: 1.0 - np.cumsum(_used(rates[size])) for size in sizes}
    kept = dict.fromkeys(sizes, 0)
    while sum(float(tails[size][kept[size]]) for size in sizes) > risk:
        worst = max(sizes, key=lambda size: float(tails[size][kept[size]]))
        kept[worst] += 1
    return [Kept(size, kept[size], rates[size][1] + 2.0 * rates[size][2]) for size in sizes]


def _rates(size: float, pairs: Sequence[tuple[float, float, float]], engines: float) -> dict[int, float]:
    """Engines a month that take one dowel of a size, and that take two."""
    rates = {1: 0.0, 2: 0.0}
    for first, second, share in pairs:
        if count := (first == size) + (second == size):
            rates[count] += engines * share
    return rates


def _used(rates: Mapping[int, float]) -> Floats:
    """Chances of 0, 1, 2 ... dowels in a month, to where nothing is left."""
    mean = rates[1] + 2.0 * rates[2]
    most = min(math.ceil(mean + 12.0 * math.sqrt(rates[1] + 4.0 * rates[2]) + 20.0), _MOST)
    counts = np.arange(most + 1)
    ones = _poisson(counts, rates[1])
    twos = np.zeros(most + 1)
    twos[::2] = _poisson(counts[: len(twos[::2])], rates[2])
    return np.convolve(ones, twos)[: most + 1]


def _poisson(counts: "np.ndarray[tuple[int], np.dtype[np.int64]]", rate: float) -> Floats:
    from scipy.special import gammaln

    if rate == 0.0:
        return np.asarray((counts == 0).astype(np.float64))
    return np.asarray(np.exp(counts * math.log(rate) - rate - gammaln(counts + 1.0)))
