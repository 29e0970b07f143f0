"""Angles from an encoder: counts or degrees, unwound over wraps, checked at each index pulse."""

import math
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Annotated, Any, Final, Literal

import numpy as np
from msgspec import Meta
from numpy.typing import NDArray

from ..errors import LoggerError
from ..files import checked
from ..readings import Fault, Floats, Readings
from ..recording.records import ENCODER


class AngleError(LoggerError):
    """The `angle` object of a header cannot be meant."""

    def __init__(self, what: str) -> None:
        """`what` is wrong with it and what it must be."""
        super().__init__(f"angle: {what}")
        self.what = what


@dataclass(frozen=True, slots=True)
class EncoderScale:
    """How counts become crank degrees.

    counts_per_turn: of the encoder (360 for one that sends degrees).
    wrap: where its counter starts anew, 0 for one that never does.
    ratio: crank turns for one turn of the encoder (a friction wheel on the flywheel's rim has a small one).
    direction: 1 or -1.
    """

    counts_per_turn: Annotated[float, Meta(ge=1e-3, le=1e12)] = 360.0
    wrap: Annotated[float, Meta(ge=0, le=2**64)] = 360.0
    ratio: Annotated[float, Meta(ge=1e-6, le=1e12)] = 1.0
    direction: Annotated[Literal[1, -1], Meta(description="1 or -1")] = 1

    @classmethod
    def from_header(cls, angle: Mapping[str, Any]) -> "EncoderScale":
        """From the `angle` object of a header. Raises AngleError, naming the key."""
        said = {each.name: value for each in fields(cls) if (value := angle.get(each.name)) is not None}
        try:
            scale = checked(cls, said)
        except ValueError as error:
            raise AngleError(str(error)) from None
        wrap = 0.0 if "counts_per_turn" in said and "wrap" not in said else float(scale.wrap)
        return cls(float(scale.counts_per_turn), wrap, float(scale.ratio), scale.direction)

    @property
    def degrees_per_count(self) -> float:
        """Crank degrees for one count."""
        return self.direction * self.ratio * 360.0 / self.counts_per_turn


BRIDGED_S: Final = 0.25
"""A gap between two encoder values up to this long is always bridged: the crank turns evenly enough."""

LONGEST_GAP_S: Final = 2.0
"""A longer one never is, however slow the encoder."""

GAPS_OF_THE_RHYTHM: Final = 5.0
"""In between, a gap of so many usual ones is an outage, in which the crank may have done anything."""

MOST_IN_A_GAP: Final = 100_000
"""Readings between two encoder values that get an angle; more than this no dial sends."""

_RHYTHM: Final = 64
_LEARNT: Final = 8


class EncoderTrack:
    """The angle of the crank at the moment of each reading: between two encoder values, never beyond.

    Told of encoder values and asked for angles in order of time, readings up to the newest value
    after that value. The usual gap is the median of the last 64; until 8 are known every gap up to
    LONGEST_GAP_S is bridged. A reading at the very time of a value needs no bridge; where several
    values came at one time (one chunk), it takes the last.
    """

    def __init__(self, scale: EncoderScale) -> None:
        self._scale = scale
        self.outage_s = 0.0
        """The longest time from an encoder value to a reading that got no angle for it."""
        self._turns = 0.0  # whole wraps so far
        self._raw: float | None = None
        self._lost = 0.0  # counts that the index pulse showed missing
        self._index: float | None = None
        self._gaps: deque[float] = deque(maxlen=_RHYTHM)
        self._severed = False
        self._first = self._last = 0.0  # counts: the first and the last that came at the newest time
        self.ran_back()

    def severed(self) -> None:
        """The encoder was unplugged: what comes next is not the next step from what came last."""
        self._severed = True

    def ran_back(self) -> None:
        """Times begin anew: no reading to come lies near a value that came."""
        self.newest = -math.inf
        """Time of the newest angle; minus infinity before the first."""
        # Values that readings may lie between: those of the newest block, and before it the first and
        # the last of those that came at the time which was the newest until then.
        self._t = np.empty(0)
        self._count = np.empty(0)
        self._bridged = np.empty(0, dtype=bool)  # may one go to this value from the one before?
        self._crowd = (-math.inf, 0)  # a value's time, and the readings that it has closed the gap for

    def add(self, block: Readings) -> list[Fault]:
        """Take in counts; faults are counts that were lost between two index pulses."""
        count, faults = self._counted(block)
        t, known = block.t, math.isfinite(self.newest)
        if known:
            t = np.concatenate(((self.newest, self.newest), t))
            count = np.concatenate(((self._first, self._last), count))
        self._bridged = self._bridges(np.diff(t, prepend=t[0]))
        if self._severed and known:
            self._bridged[2] = False
        self._severed = False
        self._t, self._count, self.newest = t, count, t.item(-1)
        self._first, self._last = count.item(np.searchsorted(t, t[-1], side="left").item()), count.item(-1)
        return faults

    def _counted(self, block: Readings) -> tuple[Floats, list[Fault]]:
        """Counts without wraps and with what was lost put right."""
        raw = block.value
        count = raw
        if self._scale.wrap > 0.0:
            steps = np.diff(raw, prepend=raw[0] if self._raw is None else self._raw)
            # Whole wraps are added up as integers, so that the cut into blocks changes no bit.
            turns = self._turns - np.cumsum(np.round(steps / self._scale.wrap))
            self._turns, self._raw = turns.item(-1), raw.item(-1)
            count = raw + turns * self._scale.wrap
        if block.index is None or not block.index.any():
            return count + self._lost, []
        # What a pulse shows missing is put right from there on.
        lost = np.full(len(count), self._lost)
        faults = []
        for at in np.flatnonzero(block.index).tolist():
            missing = self._missing(count.item(at) + self._lost)
            if missing:
                self._lost += missing
                lost[at:] = self._lost
                what = f"the encoder lost {abs(missing):g} counts since its last index pulse"
                faults.append(Fault(block.t.item(at), ENCODER, what))
        return count + lost, faults

    def _missing(self, count: float) -> float:
        """Counts lost up to an index pulse: between two there must be whole turns of the encoder."""
        if self._index is None:
            self._index = count
            return 0.0
        per_turn = self._scale.counts_per_turn
        missing = round((count - self._index) / per_turn) * per_turn - (count - self._index)
        self._index = count + missing
        return missing if abs(missing) >= 1.0 else 0.0

    def _bridges(self, gaps: Floats) -> NDArray[np.bool_]:
        """Which gaps may be bridged, each by the rhythm of those before it."""
        bridged = gaps <= BRIDGED_S
        learnt = 0
        for k in np.flatnonzero(~bridged).tolist():
            self._learn(gaps[learnt:k])
            learnt = k
            bridged[k] = gaps[k] <= self.limit
        self._learn(gaps[learnt:])
        return bridged

    def _learn(self, gaps: Floats) -> None:
        self._gaps.extend(gaps[gaps > 0.0][-_RHYTHM:].tolist())

    @property
    def limit(self) -> float:
        """The longest gap after the newest value that is no outage, s."""
        if len(self._gaps) < _LEARNT:
            return LONGEST_GAP_S
        usual = sorted(self._gaps)[len(self._gaps) // 2]
        return min(max(BRIDGED_S, GAPS_OF_THE_RHYTHM * usual), LONGEST_GAP_S)

    def silent_for(self, seconds: float) -> bool:
        """Whether a value that comes so long after the newest can be the end of a bridge."""
        return self._severed or (seconds > BRIDGED_S and seconds > self.limit)

    def missed(self, t: float) -> None:
        """A reading at `t`, after the newest value, goes without an angle."""
        if math.isfinite(self.newest):
            self.outage_s = max(self.outage_s, t - self.newest)

    def at(self, t: Floats) -> tuple[Floats, NDArray[np.bool_]]:
        """Angles, degrees, at times that rise and are not after the newest; known: which there are."""
        times, counts = self._t, self._count
        after = np.searchsorted(times, t, side="left")
        before = np.maximum(after - 1, 0)
        exact = times[after] == t
        known = exact | (self._bridged[after] & (after > 0))
        width = times[after] - times[before]
        slope = (counts[after] - counts[before]) / np.where(width > 0.0, width, 1.0)
        last = np.searchsorted(times, t, side="right") - 1
        count = np.where(exact, counts[last], slope * (t - times[before]) + counts[before])
        if not known.all():
            silent = (t - times[before])[~known]
            self.outage_s = max(self.outage_s, float(silent.max()))
        self._uncrowd(times[after[known]], known)
        return count * self._scale.degrees_per_count, known

    def _uncrowd(self, closing: Floats, known: NDArray[np.bool_]) -> None:
        """Strike out of `known` what is too much for one gap; closing: the value that ends each one's."""
        if len(closing) == 0:
            return
        value, crowd = self._crowd
        here = np.searchsorted(closing, closing[-1], side="left").item()
        if len(closing) + crowd > MOST_IN_A_GAP:
            rank = np.arange(len(closing)) - np.searchsorted(closing, closing, side="left")
            rank[closing == value] += crowd
            known[np.flatnonzero(known)[rank >= MOST_IN_A_GAP]] = False
        fresh = closing.item(-1) != value
        self._crowd = (closing.item(-1), len(closing) - here + (0 if fresh else crowd))
