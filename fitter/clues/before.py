"""Readings beside those of the sweep before: the same ones on another surface, where the tip was not moved;
their mirror image on the same bore, where one of both was turned the other way than called out.

Both sweeps have run-out to be compared by; what the dial shows besides (its zero) does not matter.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from ..numeric.basis import Floats
from ..reading.setup import Setup
from ..reading.stations import Stations
from ..result import Remark
from ..units import MM_PER_THOU
from .displaystep import count_of

_SURFACES: Final = ("bore", "face")

_AGAIN_MM: Final = 0.2 * MM_PER_THOU
"""Within which a dial comes back to what it read at the same place (common practice, no source)."""

_APART: Final = 8.0
"""Times that within which readings must swing, or differ from those before, to be told from chance."""

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
    if float(np.ptp(stations.value)) < _APART * again:
        return []
    straight = _apart(stations.deg, stations.value, before)
    if setup.feature != before.feature:
        alike = straight is not None and straight <= again
        return [Remark.warning("tip_unmoved", file=before.file, feature=before.feature)] if alike else []
    mirrored = _apart(2.0 * setup.zero_deg - stations.deg, stations.value, before)
    if straight is None or mirrored is None or mirrored > 2.0 * again or straight < _APART * again:
        return []
    if as_left:
        return [Remark.warning("mirrored", file=before.file)]
    return [Remark.warning("wrong_angle", why="mirrored", factor=None, left_mm=straight, file=before.file)]


def _apart(deg: Floats, value: Floats, before: Before) -> float | None:
    """The most by which a reading is off what was read before at its angle, the difference of their zeros
    taken out, mm; None where a place was not read before."""
    off = (deg[:, None] - before.deg + 180.0) % 360.0 - 180.0
    nearest = np.argmin(np.abs(off), axis=1)
    if float(np.abs(off).min(axis=1).max()) > _SAME_PLACE_DEG:
        return None
    gone = value - before.value[nearest]
    return float(np.ptp(gone)) / 2.0
