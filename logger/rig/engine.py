"""The built-in rig: a simulated engine, housing, indicator and hand at the crank bar.

It is physics and nothing else; `logger.rig.rigport` gives it a voice on a pseudo-terminal.
"""

import math
import random
from dataclasses import dataclass, field, replace

DIAL_RATE_HZ = 50.0
"""Readings a second of session time."""


@dataclass(frozen=True)
class Engine:
    """What the indicator meets. Lengths in mm, angles in degrees clockwise from 12, from behind.

    centre: of the bore from the crank's axis, (x, y).
    form: harmonics (order, amplitude, angle of a high point).
    noise: sd of a reading.
    tremble: sd more while the crank is turned.
    resolution: of the indicator, 0 for none.
    drift: mm a second.
    sag: of the indicator's arm.
    knocks: (time, size).
    hole: (from, to, depth) where the tip drops into a bolt hole.
    """

    centre: tuple[float, float] = (0.0, 0.0)
    form: tuple[tuple[int, float, float], ...] = ()
    noise: float = 0.002
    tremble: float = 0.02
    resolution: float = 0.001
    drift: float = 0.0
    sag: float = 0.0
    mean: float = 0.8
    knocks: tuple[tuple[float, float], ...] = ()
    hole: tuple[float, float, float] | None = None
    surface: str = "inside"

    def moved(self, shift: tuple[float, float]) -> "Engine":
        """The same engine with the housing carried by `shift`."""
        x, y = self.centre
        return replace(self, centre=(x + shift[0], y + shift[1]))

    def distance(self, deg: float, t: float) -> float:
        """The noiseless reading in mm with the contact point at `deg` at time `t`."""
        rad = math.radians(deg)
        sign = -1.0 if self.surface == "inside" else 1.0
        value = self.mean + sign * (self.centre[0] * math.sin(rad) + self.centre[1] * math.cos(rad))
        value += sign * self.sag * math.cos(rad) + self.drift * t
        for order, amplitude, high in self.form:
            value += amplitude * math.cos(order * (rad - math.radians(high)))
        value += sum(size for at, size in self.knocks if t >= at)
        if self.hole is not None and self.hole[0] <= deg % 360.0 <= self.hole[1]:
            value -= self.hole[2]
        return value


@dataclass
class Rig:
    """The engine with a hand at the crank. The hand is told where to go; the crank follows."""

    engine: Engine
    seed: int = 1
    turn_deg_s: float = 60.0
    _random: random.Random = field(init=False)
    _from: float = 0.0
    _to: float = 0.0
    _since: float = 0.0

    def __post_init__(self) -> None:
        """Seed the noise."""
        self._random = random.Random(self.seed)

    def turn_to(self, deg: float, t: float) -> float:
        """Begin at `t` to turn the crank to `deg` (any turn, either way); returns when it arrives."""
        self._from, self._to, self._since = self.angle(t), deg, t
        return t + abs(self._to - self._from) / self.turn_deg_s

    def angle(self, t: float) -> float:
        """Where the contact point is at `t`."""
        span = self._to - self._from
        if span == 0.0:
            return self._to
        # A busy machine may ask for a moment before the hand began.
        share = max(t - self._since, 0.0) * self.turn_deg_s / abs(span)
        if share >= 1.0:
            return self._to
        # Smooth at both ends, as a hand turns.
        return self._from + span * share * share * (3.0 - 2.0 * share)

    def reading(self, t: float, on_deg: float = 0.0) -> float:
        """What the indicator shows at `t`, in mm, noise and resolution included; on_deg: of another one that
        stands so many degrees on."""
        deg = self.angle(t)
        sd = self.engine.noise + (self.engine.tremble if deg != self._to else 0.0)
        value = self.engine.distance(deg + on_deg, t) + self._random.gauss(0.0, sd)
        step = self.engine.resolution
        return round(value / step) * step if step else value
