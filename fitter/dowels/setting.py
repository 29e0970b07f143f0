"""Two dowels as they are set: what they carry the bore by, and how surely."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry import difference, polar
from ..numeric.basis import Floats
from .kit import OFFSET_SD_MM

SETTING_SD_DEG = 5.0
"""Spread of the angle to which a dowel is turned by eye and mark (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class DowelSetting:
    """Two dowels set: offsets (mm) and angles (degrees) of the first and the second."""

    offsets: tuple[float, float]
    degrees: tuple[float, float]

    @classmethod
    def of(cls, dowels: Sequence[tuple[float, float]]) -> "DowelSetting":
        """Of two dowels, offset (mm) and angle (degrees) of each; of one, both alike; of none, straight
        ones."""
        first, second = (dowels[0], dowels[-1]) if dowels else ((0.0, 0.0), (0.0, 0.0))
        return cls((first[0], second[0]), (first[1], second[1]))

    @property
    def dowels(self) -> list[tuple[float, float]]:
        """Offset and angle of each: the way back from `of`."""
        return list(zip(self.offsets, self.degrees, strict=True))

    def is_like(self, other: "DowelSetting", mm: float, deg: float) -> bool:
        """Whether two dowels and two others are set the same but for less than that; where nothing is offset,
        no matter how they are turned."""
        return all(
            abs(one - two) < mm and (one < mm or abs(difference(at, to)) < deg)
            for (one, at), (two, to) in zip(self.dowels, other.dowels, strict=True)
        )


def contributions(setting: DowelSetting, influence: tuple[Floats, Floats]) -> list[Floats]:
    """What each dowel contributes to the shift of the bore, (x, y) in mm."""
    return [
        A @ np.array(polar(offset, deg)) for (offset, deg), A in zip(setting.dowels, influence, strict=True)
    ]


def carried(
    settings: Sequence[DowelSetting],
    influence: tuple[Floats, Floats],
    offset_sd: float = OFFSET_SD_MM,
    setting_sd: float = SETTING_SD_DEG,
) -> tuple[Floats, Floats]:
    """Of many settings the shift of the bore, mm, (n, 2), and its covariance, mm^2, (n, 2, 2)."""
    offsets = np.array([setting.offsets for setting in settings])
    rad = np.deg2rad([setting.degrees for setting in settings])
    shift, total = np.zeros((len(settings), 2)), np.zeros((len(settings), 2, 2))
    for k, A in enumerate(influence):
        along = np.column_stack([np.sin(rad[:, k]), np.cos(rad[:, k])]) @ A.T
        across = np.column_stack([np.cos(rad[:, k]), -np.sin(rad[:, k])]) @ A.T
        swing = (offsets[:, k] * math.radians(setting_sd))[:, None, None]
        shift += offsets[:, k][:, None] * along
        total += offset_sd**2 * along[:, :, None] * along[:, None, :]
        total += swing**2 * across[:, :, None] * across[:, None, :]
    return shift, total


def angle_window(eccentricity: float, offset: float, limit: float) -> float | None:
    """Half-width in degrees of the angles at which a parallel pair ends within the TIR limit.

    From the cosine rule: cos delta >= (e^2 + d^2 - (L/2)^2) / (2 e d). None where even the best
    angle is not enough, 180 where every angle is.
    """
    if eccentricity == 0.0:
        return 180.0 if 2.0 * offset <= limit else None
    bound = (eccentricity**2 + offset**2 - (limit / 2.0) ** 2) / (2.0 * eccentricity * offset)
    # A pair that just meets the limit at its mark must not fall out by rounding.
    if bound > 1.0 + 1e-12:
        return None
    return math.degrees(math.acos(min(max(bound, -1.0), 1.0)))
