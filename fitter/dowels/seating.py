"""Does the housing go on over a pair of dowels that people have set, and where does the bore then lie? Both
are computed together.

Each dowel's offset and angle miss a little. What they miss moves the bore (T) and pulls the two holes
together or apart along their line (the bind b), and the same slip does both, so the chance of going on
AND ending inside is not the product of the two. To first order in the slips T and b are jointly normal:

    P = integral over b of p(b) P(|E + T| <= L/2 given b)

Two ways of setting. "tight": each dowel stays where its mark was put, and the housing goes on only if
|b| is within the clearance of the holes. "free": where it does not, the dowels are turned by the least
rotation that brings the bind within the clearance, marks are looked at and the dowels locked; what the
turning does to the bore is counted.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from ..certainty.decision import chances_within
from ..geometry import difference, direction, polar
from ..numeric.basis import Floats
from ..numeric.quantiles import normal_below
from .kit import Way
from .pins import Pins
from .setting import DowelSetting

MOST_TURN_DEG: Final = 30.0
"""A dowel that would have to be turned farther than this off its mark is not helped home any more
(common practice, no source)."""

NODES, WEIGHTS = np.polynomial.legendre.leggauss(7)
PANELS: Final = np.array([-6.0, -3.0, -1.5, -0.5, 0.5, 1.5, 3.0, 6.0])
"""Between which the bind is gone over, in its standard deviations."""


@dataclass(frozen=True, slots=True)
class Slips:
    """How well dowels are made and set, and what their holes allow.

    offset_sd: of a dowel's true offset, mm.
    setting_sd: of its angle, degrees.
    clearance: bind that the two holes allow together, mm.
    way: of setting.
    """

    offset_sd: float
    setting_sd: float
    clearance: float
    way: Way = "tight"


@dataclass(frozen=True, slots=True)
class Seating:
    """How a setting may end.

    goes_on: chance that the housing slides home.
    inside: chance that it does and ends within the limit.
    """

    goes_on: float
    inside: float


@dataclass(frozen=True, slots=True)
class _Linear:
    """First order in the slips (two offsets, two angles): shift of the bore and bind, and their slopes."""

    shift: Floats
    slope: Floats
    bind: float
    gradient: Floats
    variance: Floats

    @classmethod
    def of(cls, setting: DowelSetting, pins: Pins, slips: Slips) -> "_Linear":
        angle = math.radians(slips.setting_sd)
        along, _, _ = pins.axes()
        shift, slope = np.zeros(2), np.zeros((2, 4))
        bind, gradient = 0.0, np.zeros(4)
        for k, (d, deg, A) in enumerate(zip(setting.offsets, setting.degrees, pins.influence(), strict=True)):
            high, across = np.array(polar(1.0, deg)), np.array(polar(1.0, deg + 90.0))
            sign = -1.0 if k == 0 else 1.0
            # An angle that misses either way carries a little less on average: E cos = 1 - variance / 2.
            carried = d * (1.0 - angle * angle / 2.0)
            shift += carried * (A @ high)
            bind += sign * carried * float(along @ high)
            slope[:, k], slope[:, 2 + k] = A @ high, d * (A @ across)
            gradient[k], gradient[2 + k] = sign * float(along @ high), sign * d * float(along @ across)
        variance = np.array([slips.offset_sd**2] * 2 + [angle * angle] * 2)
        return cls(shift, slope, bind, gradient, variance)


def seating(
    vector: Floats, covariance: Floats, freedom: float, limit: float, pair: tuple[DowelSetting, Pins, Slips]
) -> Seating:
    """Chances of a pair. vector: E before, mm, with its covariance (mm^2) and degrees of freedom. limit:
    permitted run-out (TIR), mm. pair: the dowels as set, where it stands, and how well it is set."""
    at = _Linear.of(*pair)
    slips = pair[2]
    spread = at.slope @ np.diag(at.variance) @ at.slope.T
    bind_sd = math.sqrt(max(float(at.gradient**2 @ at.variance), 1e-18))
    carries = at.slope @ (at.variance * at.gradient) / bind_sd**2
    # What is left to chance once the bind is known.
    rest = covariance + spread - bind_sd**2 * np.outer(carries, carries)
    low, high = _reach(*pair)
    binds, shares = _over_bind(at.bind, bind_sd, slips.clearance, (low, high))
    if len(binds) == 0:
        return Seating(0.0, 0.0)
    beyond = binds - np.clip(binds, -slips.clearance, slips.clearance)
    helped = np.array([_helped(at, float(over)) for over in beyond])
    centres = vector + at.shift + np.outer(binds - at.bind, carries) + helped
    goes_on = float(shares.sum())
    inside = float(shares @ chances_within(limit / 2.0, centres, rest, three_digits(freedom)))
    return Seating(min(goes_on, 1.0), min(inside, goes_on, 1.0))


def three_digits(freedom: float) -> float:
    """More are not known of it, and settings that share them share a table."""
    return float(f"{freedom:.3g}")


def _reach(setting: DowelSetting, pins: Pins, slips: Slips) -> tuple[float, float]:
    """The binds between which the housing goes on: those of the holes, and what turning can take away."""
    if slips.way == "tight":
        return -slips.clearance, slips.clearance
    along, _, _ = pins.axes()
    line = direction(float(along[0]), float(along[1]))
    less, more = [], []
    for d, deg in zip(setting.offsets, setting.degrees, strict=True):
        off = abs(difference(deg, line))
        now = d * math.cos(math.radians(off))
        less.append(now - d * math.cos(math.radians(min(off + MOST_TURN_DEG, 180.0))))
        more.append(d * math.cos(math.radians(max(off - MOST_TURN_DEG, 0.0))) - now)
    # Pulled apart, the second must come back or the first go after it; pushed together, the other way.
    return -(slips.clearance + less[0] + more[1]), slips.clearance + more[0] + less[1]


def _helped(at: _Linear, beyond: float) -> Floats:
    """How turning the dowels by the least rotation that takes `beyond`, mm, off the bind moves the bore.

    High sides along the line of the pins have no lever to first order; they turn either way, and what that
    moves comes to nothing on average.
    """
    turning = at.gradient[2:]
    size = float(turning @ turning)
    if beyond == 0.0 or abs(beyond) > math.radians(MOST_TURN_DEG / 2.0) * math.sqrt(size):
        return np.zeros(2)
    return np.asarray(at.slope[:, 2:] @ turning) * (-beyond / size)


def _over_bind(bind: float, sd: float, clearance: float, reach: tuple[float, float]) -> tuple[Floats, Floats]:
    """Nodes over the binds at which the housing goes on, and their normal probabilities."""
    edges = np.concatenate([bind + sd * PANELS, [-clearance, clearance, *reach]])
    edges = np.unique(np.clip(edges, *reach))
    share = np.diff(normal_below((edges - bind) / sd))
    wide = share > 1e-9
    low, high, share = edges[:-1][wide, None], edges[1:][wide, None], share[wide, None]
    b = (low + high) / 2.0 + (high - low) / 2.0 * NODES
    density = np.exp(-0.5 * ((b - bind) / sd) ** 2) * WEIGHTS
    # The panel's probability is exact; the nodes only share it out.
    return b.ravel(), (share * density / density.sum(axis=1, keepdims=True)).ravel()
