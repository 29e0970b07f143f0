"""Every reading of a recording with the angle that it got, where it got one."""

from dataclasses import dataclass

import numpy as np

from coaxly.logger.readings import Dwell, Floats, Readings, Sample, Track, Undone
from coaxly.logger.recording.records import INDICATOR, OPPOSITE

from .pipeline import Pipeline, in_mm


@dataclass(frozen=True, slots=True)
class PortReadings:
    """The readings of one port in the order in which they came, shape (n,) each.

    t: time of arrival, s.
    shown_mm: the number on the dial, mm.
    entered_deg: the angle on the operator's scale, nan where none is known.
    """

    port: str
    t: Floats
    shown_mm: Floats
    entered_deg: Floats


@dataclass(frozen=True, slots=True)
class _Stop:
    """A station: so many readings of the port had come, and those with times `t` are its own."""

    before: int
    t: Floats
    deg: float


class AllReadings:
    """Listens to a pipeline and keeps what passes. Readings are decoded and paired there and nowhere else."""

    def __init__(self) -> None:
        self._blocks: dict[str, list[Readings]] = {INDICATOR: [], OPPOSITE: []}
        self._stops: dict[str, list[_Stop]] = {INDICATOR: [], OPPOSITE: []}
        self._tracks: list[Track] = []

    def listen(self, pipeline: Pipeline) -> None:
        """Take hold of a pipeline that has not been fed yet."""
        pipeline.heard = self._blocks[INDICATOR].append
        pipeline.heard_opposite = self._blocks[OPPOSITE].append
        pipeline.paired = self._paired

    def ports(self) -> list[PortReadings]:
        """What was heard: the indicator first, then a second one opposite, where there was one."""
        return [self._of_port(port) for port, blocks in self._blocks.items() if blocks or port == INDICATOR]

    def _paired(self, sample: Sample) -> None:
        if isinstance(sample, Track):
            self._tracks.append(sample)
        elif isinstance(sample, Dwell):
            for port, t in ((INDICATOR, sample.t), (OPPOSITE, sample.opposite_t)):
                if t is not None:
                    before = sum(map(len, self._blocks[port]))
                    self._stops[port].append(_Stop(before, t, sample.deg))
        elif isinstance(sample, Undone):
            for stops in self._stops.values():
                del stops[-1:]

    def _of_port(self, port: str) -> PortReadings:
        blocks = self._blocks[port]
        t = np.concatenate([np.empty(0), *(block.t for block in blocks)])
        shown = np.concatenate([np.empty(0), *(in_mm(block.value, block.unit) for block in blocks)])
        deg = np.full(len(t), np.nan)
        for stop in self._stops[port]:
            # Only a file of another hand has readings behind its station that are later than it.
            end = stop.before
            while end and t[end - 1] > stop.t[-1]:
                end -= 1
            deg[end - len(stop.t) : end] = stop.deg
        if port == INDICATOR and self._tracks:
            self._along_tracks(t, deg)
        return PortReadings(port, t, shown, deg)

    def _along_tracks(self, t: Floats, deg: Floats) -> None:
        """Give the readings of a continuous sweep their angles: those that got one are the same readings in
        the same order, with gaps where an encoder was silent."""
        at = np.concatenate([track.t for track in self._tracks])
        turned = np.concatenate([track.deg for track in self._tracks])
        if len(at) == len(t):
            deg[:] = turned
            return
        k = 0
        for j, when in enumerate(t.tolist()):
            if k < len(at) and at[k] == when:
                deg[j] = turned[k]
                k += 1
