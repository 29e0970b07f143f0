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
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

import numpy as np

from .geometry import Vector, clock, direction, vector_of
from .numeric.basis import Floats
from .reading.stations import Stations
from .result import Facts, Result
from .units import MM_PER_THOU

MOST_SHIMS = 3
"""More shims than this under one bolt are a spring, not a support (common practice, no source)."""

AS_GOOD_MM = 0.1 * MM_PER_THOU
"""What two sets of shims leave may differ by so much before the one with more of them is worth the work
(common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Shim:
    """A place where a shim may go.

    deg, clock: its direction.
    position: of a bolt, mm from the axis; None for a station, of which only the angle is known.
    reading: less the mean, mm.
    wanted: the thinnest shim that would do, mm: the largest reading less its own.
    stack: of the stock, perhaps with a common thickness under all places (`_stacked`).
    thickness: of the stack, mm.
    """

    deg: float
    clock: str
    position: Vector | None
    reading: float
    wanted: float
    stack: tuple[float, ...]
    thickness: float


@dataclass(frozen=True, slots=True)
class Squareness(Facts):
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
    leaves = _leaves(tilt, radius, places)
    stacks = _stacked(np.array(wanted), of.stock, leaves or _unevenness(np.array(wanted)))
    shims = tuple(
        Shim(deg, clock(deg), position, reading, want, stack, sum(stack))
        for (position, deg, reading), want, stack in zip(places, wanted, stacks, strict=True)
    )
    size = shift = at_pilot = shaft = None
    if tilt is not None:
        size = float(np.hypot(*tilt))
        if of.depth is not None:
            shift = vector_of(of.depth * tilt)
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
        left=float(leaves(np.array([[shim.thickness for shim in shims]]))[0])
        if of.stock and leaves is not None
        else None,
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


def _stacked(
    wanted: Floats, stock: Sequence[float], leaves: Callable[[Floats], Floats]
) -> list[tuple[float, ...]]:
    """The stack for each place. wanted: mm, shape (n,). leaves: what thicknesses (m, n) leave of the tilt.

    A common thickness c under all of them turns nothing, but it moves every place to another spot between
    two stacks of the stock, and so another set of nearest stacks may come closer together. Which stack is
    nearest changes only where some wanted[i] + c passes the middle between two neighbouring stacks: one c
    between each two such places tries them all. Of those that leave as good as the least, the one with the
    fewest shims.
    """
    fewest: dict[float, tuple[float, ...]] = {}
    for n in range(MOST_SHIMS + 1):
        for stack in combinations_with_replacement(sorted(set(stock)), n):
            fewest.setdefault(round(sum(stack), 9), stack)
    heights = np.array(sorted(fewest))
    middles = (heights[1:] + heights[:-1]) / 2.0
    passes = middles[:, np.newaxis] - wanted
    most = float(heights[-1] - wanted.max())  # above it the lowest place cannot have its share any more
    turns = np.unique(np.concatenate([[0.0], passes[(passes > 0.0) & (passes < most)]]))
    common = np.concatenate([[0.0], (turns[1:] + turns[:-1]) / 2.0])
    tried = np.searchsorted(middles, wanted + common[:, np.newaxis])  # at a middle itself, the lower stack
    left = leaves(heights[tried])
    count = np.array([len(fewest[height]) for height in heights.tolist()])[tried].sum(axis=1)
    good = np.flatnonzero(left <= left.min() + AS_GOOD_MM)
    best = min(good.tolist(), key=lambda k: (count[k], left[k]))
    return [fewest[height] for height in heights[tried[best]].tolist()]


def _leaves(
    tilt: Floats | None, radius: float | None, places: Sequence[_Place]
) -> Callable[[Floats], Floats] | None:
    """What stacks of thickness (m, n) leave: TIR of the tilt at the swept radius, (m,), by a plane through
    each set added to the tilt. None where places have no position, or are too few for a plane."""
    positions = [position for position, _, _ in places if position is not None]
    if tilt is None or not radius or not len(positions) == len(places) >= 3:
        return None
    slopes = np.linalg.pinv(np.array([[1.0, *position] for position in positions]))[1:]
    return lambda thickness: 2.0 * radius * np.hypot(*(slopes @ thickness.T + tilt[:, np.newaxis]))


def _unevenness(wanted: Floats) -> Callable[[Floats], Floats]:
    """How far stacks of thickness (m, n) are from what is wanted and a common thickness: root of the mean
    square, mm, shape (m,)."""
    return lambda thickness: np.std(thickness - wanted, axis=1)
