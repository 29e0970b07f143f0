"""Angles from an encoder: counts or degrees, unwound over wraps, checked at each index pulse."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .errors import LoggerError
from .readings import Fault, Floats, Readings
from .records import ENCODER


class EncoderError(LoggerError):
    """The encoder's description in the header cannot be meant."""


@dataclass(frozen=True, slots=True)
class EncoderScale:
    """How counts become crank degrees. counts_per_turn: of the encoder (360 for one that sends degrees).
    wrap: where its counter starts anew, 0 for one that never does. ratio: crank turns for one turn of
    the encoder (a friction wheel on the flywheel's rim has a small one). direction: 1 or -1."""

    counts_per_turn: float = 360.0
    wrap: float = 360.0
    ratio: float = 1.0
    direction: int = 1

    @classmethod
    def from_header(cls, angle: Mapping[str, Any]) -> "EncoderScale":
        """From the `angle` object of a header. Raises EncoderError, naming the key."""
        values: dict[str, float] = {}
        for key, least in (("counts_per_turn", 1e-3), ("wrap", 0.0), ("ratio", 1e-6)):
            value = angle.get(key)
            if value is None:
                continue
            number = isinstance(value, int | float) and not isinstance(value, bool)
            if not number or not least <= value <= 1e12:
                wanted = f"a number from {least:g}"
                raise EncoderError(f"angle: {key} is {str(value)[:40]}, but must be {wanted}")
            values[key] = float(value)
        if "counts_per_turn" in values:
            values.setdefault("wrap", 0.0)
        direction = angle.get("direction", 1)
        if direction not in (1, -1) or isinstance(direction, bool):
            raise EncoderError(f"angle: direction is {str(direction)[:40]}, but must be 1 or -1")
        return cls(**values, direction=int(direction))

    @property
    def degrees_per_count(self) -> float:
        """Crank degrees for one count."""
        return self.direction * self.ratio * 360.0 / self.counts_per_turn


class EncoderTrack:
    """The angle of the crank over time, for interpolation; never beyond the newest value."""

    def __init__(self, scale: EncoderScale) -> None:
        """Nothing heard yet."""
        self._scale = scale
        self._t = np.empty(0)
        self._count = np.empty(0)
        self._turns = 0.0  # whole wraps so far
        self._raw: float | None = None
        self._lost = 0.0  # counts that the index pulse showed missing
        self._index: float | None = None

    @property
    def newest(self) -> float:
        """Time of the newest angle; minus infinity before the first."""
        return float(self._t[-1]) if len(self._t) else -math.inf

    def add(self, block: Readings) -> list[Fault]:
        """Take in counts; faults are counts that were lost between two index pulses."""
        raw = block.value
        if self._scale.wrap > 0.0:
            steps = np.diff(raw, prepend=raw[0] if self._raw is None else self._raw)
            # Whole wraps are added up as integers, so that the cut into blocks changes no bit.
            turns = self._turns - np.cumsum(np.round(steps / self._scale.wrap))
            self._turns, self._raw = float(turns[-1]), float(raw[-1])
            count = raw + turns * self._scale.wrap
        else:
            count = raw.copy()
        # What earlier pulses showed missing is put right from here on.
        count += self._lost
        faults = []
        for at in np.flatnonzero(block.index).tolist() if block.index is not None else ():
            missing = self._missing(float(count[at]))
            if missing:
                count[at:] += missing
                self._lost += missing
                what = f"the encoder lost {abs(missing):g} counts since its last index pulse"
                faults.append(Fault(float(block.t[at]), ENCODER, what))
        self._t = np.concatenate([self._t, block.t])
        self._count = np.concatenate([self._count, count])
        return faults

    def _missing(self, count: float) -> float:
        """Counts lost up to an index pulse: between two there must be whole turns of the encoder."""
        if self._index is None:
            self._index = count
            return 0.0
        per_turn = self._scale.counts_per_turn
        missing = round((count - self._index) / per_turn) * per_turn - (count - self._index)
        self._index = count + missing
        return missing if abs(missing) >= 1.0 else 0.0

    def at(self, t: Floats) -> tuple[Floats, "NDArray[np.bool_]"]:
        """Angles at times not after the newest, degrees; known: not before the oldest."""
        degrees = np.interp(t, self._t, self._count) * self._scale.degrees_per_count
        return degrees, t >= self._t[0]

    def forget(self, before: float) -> None:
        """Drop angles that no reading to come can need."""
        keep = max(int(np.searchsorted(self._t, before, side="right")) - 1, 0)
        if keep > 1024:
            self._t, self._count = self._t[keep:], self._count[keep:]
