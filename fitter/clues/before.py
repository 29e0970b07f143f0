"""Readings beside those of the sweep before: the same ones on another surface, where the tip was not moved;
their mirror image on the same bore, where one of both was turned the other way than called out.

Both sweeps have run-out to be compared by; what the dial shows besides (its zero) does not matter.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from ..numeric.basis import Floats, harmonic_rows
from ..reading.displaystep import count_of
from ..reading.setup import Setup
from ..reading.stations import Stations
from ..result import Remark
from ..units import MM_PER_THOU

_SURFACES: Final = ("bore", "face")

_AGAIN_MM: Final = 0.2 * MM_PER_THOU
"""Within which a dial comes back to what it read at the same place (common practice, no source)."""

_APART: Final = 8.0
"""Times that within which readings must swing, or differ from those before, to be told from chance."""

_SHARE: Final = 1.0 / 12.0
"""Of the swing, by which readings may be off and still be the same over again, if that is chance alone and
nothing that goes once round. tests/bench/doubts.py"""

_CHANCE: Final = 3.0
"""Standard deviations of such a difference that are chance."""

_SAME_PLACE_DEG: Final = 1.0
_FEWEST, _MOST = 5, 360


@dataclass(frozen=True, slots=True)
class Before:
    """The sweep before this one, with nothing done to the housing since. file, feature: of its recording.
    deg: internal angles of its stations, shape (n,); value: their means, mm, shape (n,)."""

    file: str
    feature: str
    deg: Floats
    value: Floats

    @classmethod
    def from_header(cls, said: Mapping[str, Any]) -> "Before | None":
        """As `to_header` gave it; None for anything else."""
        try:
            deg, value = (np.array(said[key], dtype=float) for key in ("deg", "mm"))
            file, feature = said["file"], said["feature"]
        except (KeyError, TypeError, ValueError, OverflowError):
            return None
        same = deg.shape == value.shape and deg.ndim == 1 and _FEWEST <= len(deg) <= _MOST
        if not same or feature not in _SURFACES or not np.isfinite((deg, value)).all():
            return None
        return cls(str(file)[:200], feature, deg, value)

    def to_header(self) -> dict[str, Any]:
        """As the `before` object of a header."""
        mm = np.round(self.value, 6).tolist()
        return {"file": self.file, "feature": self.feature, "deg": np.round(self.deg, 3).tolist(), "mm": mm}


def before_of(file: str, setup: Setup, stations: Stations) -> Before | None:
    """What a sweep is to the one after it; None where nothing can be compared with it."""
    whole = _FEWEST <= len(stations) <= _MOST and not stations.continuous
    if setup.feature not in _SURFACES or setup.two_numbers or not whole:
        return None
    return Before(file, setup.feature, stations.deg, stations.value)


def beside(setup: Setup, stations: Stations, before: Before, *, as_left: bool = False) -> list[Remark]:
    """Whether these readings are those of the sweep before over again, or turned over. Which of two that are
    each other's mirror image is wrong they cannot tell, so dowels are chosen by neither; but a sweep as left
    is compared with the one as found, and the proof can tell (`dowels.explain`)."""
    if stations.continuous or len(stations) < _FEWEST or setup.feature not in _SURFACES:
        return []
    again = max(_AGAIN_MM, 1.01 * count_of(setup, stations))
    swing = float(np.ptp(stations.value))
    if swing < _APART * again:
        return []
    gone = _gone(stations.deg, stations.value, before)
    straight = None if gone is None else float(np.ptp(gone)) / 2.0
    if setup.feature != before.feature:
        alike = gone is not None and _is_again(stations.deg, gone, again, swing)
        return [Remark.warning("tip_unmoved", file=before.file, feature=before.feature)] if alike else []
    turned = _gone(2.0 * setup.zero_deg - stations.deg, stations.value, before)
    if straight is None or turned is None or straight < _APART * again:
        return []
    if float(np.ptp(turned)) / 2.0 > max(2.0 * again, straight / _APART):
        return []
    if as_left:
        return [Remark.warning("mirrored", file=before.file)]
    return [Remark.warning("wrong_angle", why="mirrored", factor=None, left_mm=straight, file=before.file)]


def _gone(deg: Floats, value: Floats, before: Before) -> Floats | None:
    """By how much each reading is off what was read before at its angle, zeros and all, mm, shape (n,); None
    where a place was not read before."""
    off = (deg[:, None] - before.deg + 180.0) % 360.0 - 180.0
    nearest = np.argmin(np.abs(off), axis=1)
    if float(np.abs(off).min(axis=1).max()) > _SAME_PLACE_DEG:
        return None
    return np.asarray(value - before.value[nearest])


def _is_again(deg: Floats, gone: Floats, again: float, swing: float) -> bool:
    """Whether readings are those of before: as near as a dial comes back, or near enough for what they swing,
    with nothing but chance between the two."""
    rows = harmonic_rows(deg, 1)
    fitted = np.linalg.lstsq(rows, gone, rcond=None)[0]
    left = gone - rows @ fitted
    freedom = max(len(gone) - rows.shape[1], 1)
    chance = _CHANCE * math.sqrt(2.0 * float(left @ left) / freedom / len(gone))
    near = float(np.ptp(gone)) / 2.0 <= max(again, _SHARE * swing)
    return near and math.hypot(*fitted[1:]) <= max(again, chance)
