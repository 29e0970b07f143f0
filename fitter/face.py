"""The housing's face: is it square to the crank's axis, and which shims make it so?

A dial on the flywheel runs round the face at radius r and reads m = c + r t.u(th), high where the face
stands close: t is the tilt (radians), its direction that of the high point. Shims go between housing
and block, and bring the low places up: each bolt gets the largest reading less its own.

Where the gearbox's axis goes: let z run along the crank's axis, rearward. The face is the one that the
gearbox bolts to; it looks rearward and the dial stands behind it, so it is the plane z = t.p over the
place p, and its normal, which is the gearbox's axis, runs along (-t, 1). That axis passes through the
bore's centre E at the face. A length l further forward it stands at E + l t from the crank's axis:
a housing that is only tilted, about a joint D in front of its face, has E = -D t, and its axis meets the
crank's in the joint. The pilot bearing is one such place. Shims of thickness s(p) = -t.p turn the
housing about the joint until the face is square, which carries the bore by D t, towards the high point.
"""

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from itertools import combinations_with_replacement
from typing import Any

import numpy as np

from .geometry import Vector, clock, direction
from .numeric.basis import Floats
from .reading.stations import Stations
from .result import Result

MOST_SHIMS = 3
"""More shims than this under one bolt are a spring, not a support (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Shim:
    """A place (bolt or station): position in mm from the axis (None where only the angle is known), its
    direction, reading less the mean, the shim it wants, and the stack of stock that comes nearest."""

    deg: float
    clock: str
    position: Vector | None
    reading: float
    wanted: float
    stack: tuple[float, ...]
    thickness: float


@dataclass(frozen=True, slots=True)
class Squareness:
    """How square a face is, and what makes it so.

    tilt: radians, with its direction (high point).
    per_100: mm over 100 mm.
    u95_tilt: half-width of its 95 % interval.
    shims: for each place.
    left: TIR of the tilt that the chosen stacks leave, mm at the swept radius (None without stock).
    shift: what shimming moves the bore, (x, y) in mm (None without a depth).
    at_pilot: how far the gearbox's axis misses the pilot bearing now, |E + pilot t|, mm.
    shaft_deg: the angle between that axis and an input shaft that runs in the pilot bearing all the same.
    thinnest: the thinnest shim in stock, mm (None without stock).
    """

    tilt: float | None
    per_100: float | None
    high_deg: float
    high_clock: str
    u95_tilt: float | None
    shims: tuple[Shim, ...]
    left: float | None
    shift: Vector | None
    at_pilot: float | None
    shaft_deg: float | None
    thinnest: float | None = None

    def to_dict(self) -> dict[str, Any]:
        """As JSON-ready dictionaries and lists."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class Mounting:
    """What is known of how the housing stands, and of the shims to choose from; lengths in mm.

    bolts: where they are, (x, y) each; without them each station is a place for a shim.
    stock: thicknesses of the shims that there are.
    depth: from the shimmed joint to the bore, None if not known.
    pilot: from the face forward to the pilot bearing, None if not known.
    bore: the bore's own offset E.
    """

    bolts: Sequence[Vector] = ()
    stock: Sequence[float] = ()
    depth: float | None = None
    pilot: float | None = None
    bore: Vector = (0.0, 0.0)


def squareness(
    result: Result, stations: Stations, radius: float | None, mounting: Mounting | None = None
) -> Squareness:
    """What a face sweep says and asks for. stations: corrected; radius: at which the dial ran, mm, without
    which there is no tilt, only readings."""
    of = mounting or Mounting()
    ecc = result.eccentricity
    tilt = np.array(ecc.vector) / radius if radius else None
    places, wanted = _wanted(stations, tilt, of.bolts)
    shims = tuple(
        _shim(position, deg, reading, want, of.stock)
        for (position, deg, reading), want in zip(places, wanted, strict=True)
    )
    size = shift = at_pilot = shaft = None
    if tilt is not None:
        size = float(np.hypot(*tilt))
        if of.depth is not None:
            moved = of.depth * tilt
            shift = (float(moved[0]), float(moved[1]))
        if of.pilot is not None:
            at_pilot = math.hypot(*(np.array(of.bore) + of.pilot * tilt))
            shaft = math.degrees(math.atan2(at_pilot, of.pilot))
    return Squareness(
        tilt=size,
        per_100=100.0 * size if size is not None else None,
        high_deg=ecc.high_deg,
        high_clock=clock(ecc.high_deg),
        u95_tilt=ecc.u95_amount / radius if radius else None,
        shims=shims,
        left=_left(tilt, radius, shims) if of.stock and radius and tilt is not None else None,
        shift=shift,
        at_pilot=at_pilot,
        shaft_deg=shaft,
        thinnest=min(of.stock, default=None),
    )


_Place = tuple[Vector | None, float, float]


def _wanted(
    stations: Stations, tilt: Floats | None, bolts: Sequence[Vector]
) -> tuple[list[_Place], list[float]]:
    """Places with their readings, and the shim that each wants: the largest reading less its own."""
    places: list[_Place]
    if bolts and tilt is not None:
        places = [(bolt, direction(*bolt), float(tilt @ np.array(bolt))) for bolt in bolts]
    else:
        mean = float(stations.value.mean())
        places = [
            (None, deg, value - mean)
            for deg, value in zip(stations.deg.tolist(), stations.value.tolist(), strict=True)
        ]
    top = max(reading for _, _, reading in places)
    return places, [top - reading for _, _, reading in places]


def _shim(position: Vector | None, deg: float, reading: float, wanted: float, stock: Sequence[float]) -> Shim:
    stack = _nearest_stack(wanted, stock)
    return Shim(deg, clock(deg), position, reading, wanted, stack, sum(stack))


def _nearest_stack(wanted: float, stock: Sequence[float]) -> tuple[float, ...]:
    """The stack of at most MOST_SHIMS that comes nearest; of equals the one with fewer shims."""
    stacks = [
        stack for n in range(MOST_SHIMS + 1) for stack in combinations_with_replacement(sorted(set(stock)), n)
    ]
    return min(stacks, key=lambda stack: (round(abs(sum(stack) - wanted), 9), len(stack)))


def _left(tilt: Floats, radius: float, shims: Sequence[Shim]) -> float | None:
    """TIR of the tilt that remains at the swept radius: a plane through the stacks, added to the tilt."""
    if len(shims) < 3 or any(shim.position is None for shim in shims):
        return None
    rows = np.array([[1.0, *shim.position] for shim in shims if shim.position is not None])
    plane, *_ = np.linalg.lstsq(rows, np.array([shim.thickness for shim in shims]), rcond=None)
    return 2.0 * radius * float(np.hypot(*(tilt + plane[1:])))
