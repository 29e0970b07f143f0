"""What the instruments said of themselves in a sweep (hold, over range, a zero set anew), counted, with the
stations that it spoils.
"""

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Final, cast

import numpy as np

from coaxly.fitter import Result
from coaxly.fitter.geometry import InternalDeg, wrap
from coaxly.fitter.numeric.basis import Floats
from coaxly.fitter.reading.stations import Stations
from coaxly.fitter.result import Kind, Remark
from coaxly.fitter.units import MM_PER_THOU
from coaxly.logger.marks import FaultKind

_BESIDE: Final = "low_battery"
"""What leaves the reading beside it as good as any."""

_REZEROED: Final = "rezeroed"
_SWITCHED: Final = "unit_switched"
_BESIDES: Final = (_BESIDE, _REZEROED, _SWITCHED)

_GAP_DEG: Final = 120.0
"""Between stations, from which a part of the bore was not read (`fitter.remarks`)."""

_NEAR_MM, _NEAR_SHARE = 1.0 * MM_PER_THOU, 0.3
"""Within which a step that was fitted is the jump that was seen: stations on either side of it scatter."""

_TELLING: Final = 0.2
"""Share of the limit from which a jump that was not taken out matters."""


@dataclass(slots=True)
class _Tally:
    """Of one kind on one port. first, last: when, s; word: the first line as it came."""

    count: int
    first: float
    last: float
    word: str


class Marked:
    """Counts faults of a kind by port. Sans-IO; the order in which ports are decoded does not matter."""

    def __init__(self, dwell_s: float) -> None:
        """dwell_s: before its confirmation a station is read from."""
        self._dwell = dwell_s
        self._tallies: dict[tuple[str, str], _Tally] = {}
        self._rezeroed: list[tuple[float, float]] = []
        self._switched: tuple[float, bool] | None = None  # when first, and whether numbers became smaller
        self._asked: tuple[str, ...] = ()  # kinds in the dwell of the station that was just asked for
        self._stations: list[tuple[float, tuple[str, ...]]] = []

    def add(self, kind: FaultKind, port: str, t: float, word: str) -> None:
        """One more (`logger.readings.Fault`)."""
        if kind == _REZEROED:
            self._rezeroed.append((t, float(word)))
        if kind == _SWITCHED and (self._switched is None or t < self._switched[0]):
            self._switched = (t, word == "smaller")
        tally = self._tallies.get((kind, port))
        if tally is None:
            self._tallies[kind, port] = _Tally(1, t, t, word)
        else:
            tally.count, tally.last = tally.count + 1, t

    def asked(self, t: float) -> None:
        """A station was confirmed at t: what was said within its dwell touches it."""
        since = t - self._dwell
        self._asked = tuple(
            sorted({kind for (kind, _), tally in self._tallies.items() if tally.last > since})
        )

    def taken(self, deg: InternalDeg) -> None:
        """It came to something."""
        self._stations.append(
            (wrap(deg), tuple(kind for kind in self._asked if kind not in (_BESIDE, _SWITCHED)))
        )

    def undone(self) -> None:
        """The last station is taken back."""
        if self._stations:
            self._stations.pop()

    def ran_back(self) -> None:
        """Times begin anew: nothing of before lies in a dwell to come."""
        for tally in self._tallies.values():
            tally.last = float("-inf")

    def _hidden(self, t: Floats) -> list[str]:
        """What the dial said in place of readings since the first station; t: of all, s."""
        since = float(t.min()) if len(t) else math.inf
        tallies = self._tallies.items()
        return sorted({kind for (kind, _), each in tallies if kind not in _BESIDES and each.last > since})

    def jumps(self, t: Floats) -> list[tuple[float, float]]:
        """When the dial was set anew between stations that were read at times t, s, and by how much that
        moved its reading, mm. Before the first it is what one does."""
        return [(at, by) for at, by in self._rezeroed if len(t) and t.min() < at < t.max()]

    def remarks(self, stations: Stations) -> list[Remark]:
        """What was said, by kind, and the stations that were not read from live readings alone, or the gap
        where there are none."""
        found = [
            Remark.warning(cast(Kind, kind), port=port, count=tally.count, at_s=tally.first, word=tally.word)
            for (kind, port), tally in sorted(self._tallies.items(), key=lambda item: item[0])
            if kind not in (_REZEROED, _SWITCHED)
        ]
        if self._switched is not None and len(stations):
            at, smaller = self._switched
            after = np.flatnonzero(stations.t > at)
            deg = stations.deg[after[np.argmin(stations.t[after])] if len(after) else -1]
            found.append(Remark.warning("unit_changed", before_deg=float(deg), smaller=smaller))
        if jumps := self.jumps(stations.t):
            largest = max((by for _, by in jumps), key=abs)
            found.append(Remark.warning(_REZEROED, count=len(jumps), at_s=jumps[0][0], size_mm=largest))
        touched = [(deg, kinds) for deg, kinds in self._stations if kinds]
        if touched:
            said = sorted({kind for _, kinds in touched for kind in kinds})
            found.append(Remark.warning("not_live", stations_deg=[deg for deg, _ in touched], said=said))
        elif (gap := stations.largest_gap()) > _GAP_DEG and (hidden := self._hidden(stations.t)):
            found.append(Remark.warning("not_live", stations_deg=[], said=hidden, gap_deg=gap))
        return found


def set_anew(result: Result, jumps: Sequence[Sequence[tuple[float, float]]]) -> Result:
    """The result of sweeps in which the dial was set anew (`Marked.jumps` of each): a step that was fitted
    there is no knock, and a jump that none was fitted for is still in the readings."""
    sizes = [abs(by) for _, by in chain(*jumps)]
    if not sizes:
        return result
    remarks, step = list(result.remarks), result.checks.step
    if step is not None:
        near = min(sizes, key=lambda size: abs(abs(step.size) - size))
        if abs(abs(step.size) - near) <= max(_NEAR_MM, _NEAR_SHARE * near):
            remarks = [remark for remark in remarks if remark.kind != "step"]
            sizes.remove(near)
    left = max(sizes, default=0.0)
    if left > _TELLING * result.decision.limit:
        remarks.insert(0, Remark.warning("zero_lost", size_mm=left))
    return dataclasses.replace(result, remarks=tuple(remarks))
