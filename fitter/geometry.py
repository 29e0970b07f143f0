"""The one convention for angles and vectors.

View from behind the engine, looking at the flywheel. Angles are degrees, clockwise from
12 o'clock; x points to 3 o'clock, y up; u(th) = (sin th, cos th).
"""

import math
from collections.abc import Iterable
from typing import NewType

Vector = tuple[float, float]
Matrix = tuple[Vector, Vector]
"""Such as the covariance of a vector."""

EnteredDeg = NewType("EnteredDeg", float)
"""An angle as the operator's scale counts it: from its own zero, in its own sense."""

InternalDeg = NewType("InternalDeg", float)
"""An angle on the engine, by the one convention: `Setup.internal_deg` makes it of an entered one."""


def vector_of(values: Iterable[float]) -> Vector:
    """Two numbers, of an array such as they are."""
    x, y = values
    return float(x), float(y)


def matrix_of(rows: Iterable[Iterable[float]]) -> Matrix:
    """Two rows of two."""
    first, second = rows
    return vector_of(first), vector_of(second)


def wrap(deg: float) -> float:
    """The same direction within 0 <= deg < 360."""
    wrapped = math.fmod(deg, 360.0)
    if wrapped < 0.0:
        wrapped += 360.0
    # A tiny negative angle rounds up to exactly 360; -0.0 would print as "-0".
    return 0.0 if wrapped >= 360.0 or wrapped == 0.0 else wrapped


def upwards(tilt_deg: float) -> Vector:
    """Plumb upwards, as a unit vector on the engine, of one that lies tilted about its crank's axis.

    Seen from behind, its own 12 o'clock leans `tilt_deg` clockwise from plumb; so plumb is as far
    anticlockwise from its 12 o'clock, and weight pulls the other way.
    """
    return unit(-tilt_deg)


def difference(a: float, b: float) -> float:
    """The turn from direction `b` to direction `a` in degrees, -180 <= d < 180, clockwise positive."""
    return wrap(a - b + 180.0) - 180.0


def unit(deg: float) -> Vector:
    """Unit vector towards `deg`: (sin, cos)."""
    rad = math.radians(deg)
    return math.sin(rad), math.cos(rad)


def direction(x: float, y: float) -> float:
    """Direction of the vector (x, y) in degrees, 0 <= deg < 360; 0 for the null vector."""
    return wrap(math.degrees(math.atan2(x, y)))


def polar(length: float, deg: float) -> Vector:
    """The vector of `length` towards `deg`."""
    x, y = unit(deg)
    return length * x, length * y


def clock(deg: float) -> str:
    """Clock text of a direction, 30 degrees an hour, to the nearest minute: 165 -> "5:30"."""
    minutes = round(wrap(deg) * 2.0) % 720
    return f"{minutes // 60 or 12}:{minutes % 60:02d}"
