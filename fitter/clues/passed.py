"""Sweeps read in passing: a dial that stands while the crank turns.

Sectors that read the same may be the bore's, those of a tip that is off or a plunger at its stop, or of a
dial on hold. Which of them, the model says (`fitter.mixture.bounds`): here is where they are, and how near to
each other a bore would have to read there to pass for them.
"""

import math
from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..mixture import priors
from ..mixture.bounds import Stood
from ..reading.displaystep import count_of
from ..reading.setup import Setup
from ..reading.stations import Ints, Stations, sectors_of
from ..result import Remark
from ..units import MM_PER_THOU
from .flat import HELD

_LEAST: Final = 8
"""Sectors from which a run is looked at: of a shorter one a stop hides next to nothing, and bores linger so
long."""

_FEWEST: Final = 8
"""Sectors beside it that tell of the bore."""

_FLICKERS: Final = ((0, 0.85), (1, 0.12), (2, 0.03))
"""Steps of its display by which a dial at its stop flickers, and how often it does (common practice, no
source)."""

_TOGETHER: Final = 4
"""Neighbours, on the mean, in which readings of a stop lie: what a flicker meets now and then lies alone."""

_FINE_MM: Final = 0.3 * MM_PER_THOU
"""Within which no bore reads all round (common practice, no source)."""

_SAME_MM: Final = 1e-7
"""Means of equal readings differ by their last bits, and their scatter is no more."""

_FINEST_MM: Final = 0.01 * MM_PER_THOU
"""Step of a dial that does not tell its step."""


def stands(setup: Setup, stations: Stations) -> Iterator[tuple[Stood, Remark]]:
    """Where the dial may have stood: at its lowest, at its highest, or in one run anywhere."""
    found = _Equal(stations, count_of(setup, stations) or _FINEST_MM)
    for sign in (1.0, -1.0):
        above = sign * stations.value
        above = above - above.min()
        for steps, often in _FLICKERS:
            rows = np.flatnonzero((above <= steps * found.count + _SAME_MM) & (found.still | (steps > 0)))
            if found.telling(rows) and len(rows) >= _TOGETHER * len(_runs(np.diff(rows) > 1)):
                step = (1 + steps) * found.count
                log = math.log(step * priors.STOP_PER_MM * often)
                facts = {"places": found.places(rows), **found.facts(rows), "lowest": sign > 0.0}
                sure = "tip_off" in setup.sure
                yield found.stood(rows, sign, log, step, sure=sure), Remark.warning("tip_off", **facts)
                break
    rows = max(_runs(~(np.abs(np.diff(stations.value)) <= _SAME_MM) | ~found.still[1:]), key=len)
    # On hold it would read so nowhere else.
    again = np.abs(stations.value - stations.value[rows[0]]) <= _SAME_MM
    if found.telling(rows) and int((again & found.still).sum()) - len(rows) < _LEAST:
        facts = {"after_deg": float(stations.deg[rows[0]]), "stations": len(rows), **found.facts(rows)}
        one = found.stood(rows, 0.0, found.held(rows), found.count, sure="held_dial" in setup.sure)
        yield one, Remark.warning("held_dial", **facts)


def never_moved(setup: Setup, stations: Stations) -> list[Remark]:
    """That the dial is dead: it read the same all the time, but for what it scatters in a sector."""
    value, quiet = stations.value, stations.scatter[np.isfinite(stations.scatter)]
    room = max(2.0 * count_of(setup, stations), 3.0 * float(np.quantile(quiet, 0.1)) if len(quiet) else 0.0)
    few = float(np.ptp(np.quantile(value, (0.05, 0.95)))) <= min(room, _FINE_MM) + _SAME_MM
    facts = {"stations": len(stations), "reads_mm": float(np.median(value))}
    return [Remark.warning("dead_dial", **facts)] if few else []


def _runs(parted: NDArray[np.bool_]) -> list[Ints]:
    """Indices of n things in a row, cut where two neighbours are parted, (n - 1,)."""
    return np.split(np.arange(len(parted) + 1), np.flatnonzero(parted) + 1)


class _Equal:
    """Sectors of a sweep, n of them. count: step of the display, mm."""

    def __init__(self, stations: Stations, count: float) -> None:
        self._stations, self.count = stations, count
        self.still = ~(stations.scatter > _SAME_MM)  # of a single reading nobody knows
        several = stations.scatter[np.isfinite(stations.scatter)]
        self._blur = float(np.median(several)) if len(several) else 0.0

    def telling(self, rows: Ints) -> bool:
        """Whether there are enough of these, and of others."""
        return self.places(rows) >= _LEAST and len(self._stations) - len(rows) >= _FEWEST

    def places(self, rows: Ints) -> int:
        """At how many places these were read."""
        return len(np.unique(sectors_of(self._stations.deg[rows])))

    def facts(self, rows: Ints) -> dict[str, float]:
        """What the dial read there."""
        value = self._stations.value[rows]
        return {"reads_mm": float(value.min() + value.max()) / 2.0, "within_mm": float(np.ptp(value))}

    def stood(self, rows: Ints, sign: float, log: float, step: float, *, sure: bool) -> Stood:
        """What the model is asked of these. step: of the display with its flicker, mm.

        Readings of a bore are all the same only where neither noise nor its slope takes them over the edge of
        a step: of the others as many are as the share of the step that is left for it.
        """
        value = self._stations.value
        others = np.setdiff1d(np.arange(len(value)), rows)
        share = (float(self.still[others].sum()) + 0.5) / (len(others) + 1.0)
        share += float(np.abs(np.diff(value[others])).mean()) / self.count
        room = step / 2.0 * (min(share, 1.0) if step == self.count else 1.0)
        reads = self.facts(rows)["reads_mm"]
        away = np.abs(value - reads) - self._blur
        return Stood(rows, sign, np.full(len(rows), (sign or 1.0) * reads), log, step, sure, room, away)

    def held(self, rows: Ints) -> float:
        """Logarithm of how often a dial is put on hold just here, and goes on as it does after it: at the end
        of the sweep, or where the bore may read anything."""
        value, n = self._stations.value, len(self._stations)
        first, after = int(rows[0]), int(rows[-1]) + 1
        log = math.log(HELD / n / 2.0)
        if after == n:
            return log
        leap = (abs(float(value[after] - value[first])) + self.count) / float(np.ptp(value))
        return log - math.log(n) + min(math.log(leap), 0.0)
