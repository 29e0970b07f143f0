"""Each reading gets the angle at which it was taken.

Three modes, by the header: `entered` (the operator confirms stations), `combined` (the angle is on
the indicator's line) and `encoder` (a second port, interpolated in time, never extrapolated).
"""

import math
from collections import deque
from collections.abc import Iterator
from typing import Final

import numpy as np

from ..readings import Dwell, Fault, Floats, Readings, Sample, Track, Undone
from ..recording.records import ENCODER, INDICATOR, OPPOSITE, Mode
from .encoder import MOST_IN_A_GAP, EncoderScale, EncoderTrack

MOST: Final = 100_000
"""So many readings at least are remembered, however long the dwell: bounded also where times stand still."""


class Recent:
    """Remembers the readings of the last dwell. Sans-IO, blocks in order of time."""

    def __init__(self, dwell_s: float) -> None:
        self._dwell = dwell_s
        self._blocks: deque[Readings] = deque()
        self._held = 0

    def add(self, block: Readings) -> None:
        """Take in readings; those that no station to come can need are forgotten."""
        blocks = self._blocks
        blocks.append(block)
        self._held += len(block)
        oldest = block.t.item(-1) - self._dwell
        while len(blocks) > 1 and (blocks[0].t.item(-1) <= oldest or self._held - len(blocks[0]) >= MOST):
            self._held -= len(blocks.popleft())

    def clear(self) -> None:
        """Times begin anew: nothing that was read belongs to what comes."""
        self._blocks.clear()
        self._held = 0

    def dwelled(self, t: float) -> tuple[set[str], Floats, Floats]:
        """Units, times and values of the readings in the dwell up to `t`, of the last MOST at most."""
        # How many of the oldest block stand before the last MOST depends on how lines were cut into
        # blocks, and may not show.
        surplus = max(self._held - MOST, 0)
        units, times, values = set(), [np.empty(0)], [np.empty(0)]
        for block in self._blocks:
            which = (block.t > t - self._dwell) & (block.t <= t)
            which[:surplus] = False
            surplus = max(surplus - len(block), 0)
            if which.any():
                units.add(block.unit)
                times.append(block.t[which])
                values.append(block.value[which])
        return units, np.concatenate(times), np.concatenate(values)


class Pairing:
    """Pairs the readings of one recording with its angles. Sans-IO, like the decoder."""

    def __init__(
        self, mode: Mode, dwell_s: float, *, two: bool = False, scale: EncoderScale | None = None
    ) -> None:
        """`dwell_s`: how long before its confirmation the readings of a station begin to count. two: a
        second indicator stands opposite the first, and a station needs both. scale: of the encoder."""
        self.mode: Final = mode
        self._without_angle = 0
        self._dwell = dwell_s
        self.two = two
        self._recent, self._opposite = Recent(dwell_s), Recent(dwell_s)
        self._encoder = EncoderTrack(scale or EncoderScale())
        self._waiting: deque[Readings] = deque()
        self._held = 0  # readings in them
        self._first = self._heard = math.nan  # times of the first and the newest reading
        self._now = -math.inf
        self._out: list[Sample | Fault] = []

    def readings(self, block: Readings) -> None:
        """Take in readings of the indicator or the encoder.

        Of blocks that cover the same time the encoder's comes last, and `settle` after it.
        """
        if self.mode == "entered":
            (self._opposite if block.port == OPPOSITE else self._recent).add(block)
        elif self.mode == "combined":
            if block.angle is not None:
                self._out.append(Track(block.angle, block.t, block.value, block.unit))
            elif block.port == INDICATOR:
                self._without_angle += len(block)
        elif block.port == INDICATOR:
            if self._first != self._first:
                self._first = block.t.item(0)
            self._heard = block.t.item(-1)
            self._waiting.append(block)
            self._held += len(block)
            if block.t.item(0) < self._encoder.newest:
                self._release()
        elif block.port == ENCODER:
            self._out += self._encoder.add(block)
            if self._waiting:
                self._release()

    def settle(self, t: float) -> None:
        """All that came up to time `t` has been taken in: give up what no angle can come for."""
        self._now = t
        if self._waiting and t > self._encoder.newest:
            self._release(passed=True)
        if not self._waiting:
            return
        if self._encoder.silent_for(t - self._encoder.newest):
            # A value at this very time may still come.
            for block in self._until(t):
                self._without_angle += len(block)
                self._encoder.missed(block.t.item(-1))
        if self._held > MOST_IN_A_GAP:
            self._shorten()

    def severed(self, port: str) -> None:
        """A port was opened anew."""
        if port == ENCODER:
            self._encoder.severed()

    def ran_back(self) -> None:
        """The times of the recording begin anew: nothing from before meets anything from after."""
        self._release(passed=True)
        self._recent.clear()
        self._opposite.clear()
        self._without_angle += self._held
        self._waiting.clear()
        self._held = 0
        self._first = self._heard = math.nan
        self._encoder.ran_back()

    @property
    def without_angle(self) -> int:
        """Readings that got no angle, those included that wait for one in vain."""
        vain = bool(self._waiting) and self._encoder.silent_for(self._now - self._encoder.newest)
        return self._without_angle + (self._held if vain else 0)

    @property
    def outage_s(self) -> float:
        """The longest time without an encoder value before a reading that got no angle, s; 0 without."""
        return self._encoder.outage_s

    @property
    def encoder_behind_s(self) -> float:
        """By how much the newest reading is ahead of the newest angle, s; 0 without an encoder."""
        if self.mode != "encoder" or self._heard != self._heard:
            return 0.0
        return max(self._heard - max(self._encoder.newest, self._first), 0.0)

    def station(self, deg: float, t: float) -> None:
        """The operator confirmed the angle `deg` at time `t`."""
        if self.mode != "entered":
            return
        here = self._dwelled(self._recent, INDICATOR, deg, t)
        there = self._dwelled(self._opposite, OPPOSITE, deg, t) if self.two else ("", None, None)
        if here is None or there is None:
            return
        (unit, times, values), (other_unit, other_times, others) = here, there
        self._out.append(Dwell(deg, times, values, unit, others, other_unit, other_times))

    def _dwelled(self, recent: Recent, port: str, deg: float, t: float) -> tuple[str, Floats, Floats] | None:
        """Unit, times and values of the dwell before `t`; None, and a fault, where there are none."""
        units, times, values = recent.dwelled(t)
        if len(units) == 1:
            return units.pop(), times, values
        what = f"station {deg:g}: the unit changed within the dwell"
        if not units:
            what = f"station {deg:g}: no reading in the {self._dwell:g} s before it"
        self._out.append(Fault(t, port, what))
        return None

    def undo(self) -> None:
        """The operator took the last station back."""
        self._out.append(Undone())

    def events(self) -> Iterator[Sample | Fault]:
        """What has been paired since the last call, in order."""
        out, self._out = self._out, []
        return iter(out)

    def _release(self, *, passed: bool = False) -> None:
        """Give an angle to each waiting reading that the encoder has overtaken. passed: no more values of
        the newest one's time can come, so that readings of that very time have theirs as well."""
        for block in self._until(self._encoder.newest, just_then=passed):
            deg, known = self._encoder.at(block.t)
            self._without_angle += len(known) - int(known.sum())
            if known.any():
                self._out.append(Track(deg[known], block.t[known], block.value[known], block.unit))

    def _until(self, t: float, *, just_then: bool = False) -> Iterator[Readings]:
        """What waits and came before `t`, or also just then, a block for each unit; it waits no more."""
        while self._waiting and ((first := self._waiting[0].t.item(0)) < t or (just_then and first == t)):
            block = self._joined()
            ready = int(np.searchsorted(block.t, t, side="right" if just_then else "left"))
            if ready < len(block):
                self._waiting.appendleft(_part(block, slice(ready, None)))
            self._held -= ready
            yield _part(block, slice(None, ready))

    def _joined(self) -> Readings:
        """The waiting blocks up to a change of the unit, as one; they wait no more."""
        first = self._waiting.popleft()
        same = [first]
        while self._waiting and self._waiting[0].unit == first.unit:
            same.append(self._waiting.popleft())
        if len(same) == 1:
            return first
        t, value = (np.concatenate(column) for column in ([b.t for b in same], [b.value for b in same]))
        return Readings(first.port, t, value, None, first.unit)

    def _shorten(self) -> None:
        """Of the readings that wait for one encoder value, keep no more than may have an angle."""
        while (surplus := self._held - MOST_IN_A_GAP) > 0:
            block = self._waiting.pop()
            gone = min(surplus, len(block))
            self._without_angle += gone
            self._held -= gone
            if gone < len(block):
                self._waiting.append(_part(block, slice(None, len(block) - gone)))


def _part(block: Readings, which: slice) -> Readings:
    return Readings(block.port, block.t[which], block.value[which], None, block.unit)
