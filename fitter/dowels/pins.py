"""How a housing moves when its two dowel holes are carried: a rigid body on two pins.

Dowel i stands at p_i and carries its hole by s_i = d_i u(th_i). The housing takes the mean of the two
along the line between them (what they disagree by there is bind, which the holes' clearance must
allow) and turns by what they disagree by across it.
"""

import math
from dataclasses import dataclass

import numpy as np

from ..geometry import Vector
from ..numeric.basis import Floats


@dataclass(frozen=True, slots=True)
class Pins:
    """Where the two dowels stand from the crank's axis, seen from behind, mm (x right, y up)."""

    first: Vector
    second: Vector

    @property
    def apart(self) -> float:
        """Distance between the dowels, mm."""
        return math.dist(self.first, self.second)

    def axes(self) -> tuple[Floats, Floats, Floats]:
        """Unit vectors along and across the line between the dowels, and z x the point half way."""
        along = (np.array(self.second) - np.array(self.first)) / self.apart
        across = np.array([-along[1], along[0]])
        mx, my = (np.array(self.first) + np.array(self.second)) / 2.0
        return along, across, np.array([-my, mx])

    def influence(self) -> tuple[Floats, Floats]:
        """Matrices A1, A2 with shift of the bore T = A1 s1 + A2 s2, shape (2, 2) each."""
        _, across, lever = self.axes()
        turn = np.outer(lever, across) / self.apart
        return np.eye(2) / 2.0 + turn, np.eye(2) / 2.0 - turn

    def carry(self, offsets: Floats, radians: Floats) -> tuple[Floats, Floats]:
        """What dowels of these offsets (mm) do at these angles, (..., 2) each: shift of the bore, mm,
        (..., 2), and bind, mm, (...)."""
        high = np.stack([np.sin(radians), np.cos(radians)], axis=-1)
        s1, s2 = np.moveaxis(offsets[..., None] * high, -2, 0)
        A1, A2 = self.influence()
        return s1 @ A1.T + s2 @ A2.T, self.bind(s1, s2)

    def bind(self, s1: Floats, s2: Floats) -> Floats:
        """What the dowels pull apart (positive) or push together along their line, mm; (..., 2) each."""
        along, _, _ = self.axes()
        apart: Floats = (s2 - s1) @ along
        return apart

    def turn(self, s1: Floats, s2: Floats) -> Floats:
        """Turn of the housing, radians, anticlockwise seen from behind."""
        _, across, _ = self.axes()
        angle: Floats = (s2 - s1) @ across / self.apart
        return angle


def influence(pins: Pins | None) -> tuple[Floats, Floats]:
    """Of two dowels, (2, 2) each: half, where nobody said where they stand and they are set alike."""
    return (np.eye(2) / 2.0, np.eye(2) / 2.0) if pins is None else pins.influence()
