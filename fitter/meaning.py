"""What the first harmonic of a sweep means: the one place where a sign is decided.

The reading is m(th) = c + sign (v.u(th)) + form, with u(th) = (sin th, cos th) seen from behind:

- inside of a bore: v = E, the bore's centre from the crank's axis; the wall that stands close reads high,
  and that is the side away from E, so sign = -1;
- outside of a spigot or boss: v = E, sign = +1;
- a pilot bore: as a bore, a flywheel's face as a face, with angles counted on the part, which turns under a
  dial that stands on the block (`Setup.part_turns`);
- the arm of the dial itself, on a bar: as an outside surface (`fitter.sag`);
- a face: v = r t, the radius swept times the tilt (radians) towards the side that stands close, sign = +1.

The stream, the result, the planner, words and pictures all ask here which way is high and which way things
move.
"""

from dataclasses import dataclass

from .geometry import Vector, direction
from .numeric.basis import Floats
from .reading.setup import Feature, Setup


@dataclass(frozen=True, slots=True)
class Meaning:
    """Of one surface. sign: of v.u in the reading, see above."""

    feature: Feature
    sign: float

    @classmethod
    def of(cls, setup: Setup) -> "Meaning":
        """That of the surface which a sweep ran on."""
        inside = setup.feature in ("bore", "pilot") and setup.surface == "inside"
        return cls(setup.feature, -1.0 if inside else 1.0)

    def vector(self, a1: float, b1: float) -> Vector:
        """v = (x, y), mm, from the first harmonic a1 cos th + b1 sin th of the readings."""
        return self.sign * b1, self.sign * a1

    def high_deg(self, vector: Vector | Floats) -> float:
        """Where the first harmonic reads highest, degrees."""
        return direction(self.sign * vector[0], self.sign * vector[1])

    def move_deg(self, vector: Vector | Floats) -> float:
        """Which way the housing goes when it is put right, degrees: a bore against E, by its dowels. Shims
        under the low side of a face carry what stands on it towards the high point. Of all else nothing goes
        anywhere, and it is the high point too."""
        if self.feature != "bore":
            return self.high_deg(vector)
        return direction(-vector[0], -vector[1])

    def slope(self, vector: Vector | Floats, cos: Floats, sin: Floats) -> Floats:
        """What v adds to the readings, mm, shape (n,), at angles given by their cosines and sines."""
        added: Floats = self.sign * (float(vector[0]) * sin + float(vector[1]) * cos)
        return added
