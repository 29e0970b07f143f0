"""A direction from the line through the two dowel holes: what holds however the engine lies in the car."""

from fitter.dowels.pins import Pins
from fitter.geometry import Vector, difference, direction

_SAME = 0.5
"""Degrees within which a direction is along the line."""


def names(pins: Pins) -> tuple[str, str]:
    """What a person behind the engine calls the first and the second hole."""
    (x1, y1), (x2, y2) = pins.first, pins.second
    if abs(x1 - x2) >= abs(y1 - y2):
        return ("left", "right") if x1 < x2 else ("right", "left")
    return ("lower", "upper") if y1 < y2 else ("upper", "lower")


def from_the_line(deg: float, pins: Pins) -> str:
    """ "32 deg clockwise", from `the_line`."""
    first, second = _ordered(pins)
    turn = difference(deg, direction(second[0] - first[0], second[1] - first[1]))
    return (
        f"{abs(turn):.0f} deg {'clockwise' if turn > 0.0 else 'anticlockwise'}"
        if abs(turn) >= _SAME
        else "along"
    )


def the_line(pins: Pins) -> str:
    """Whence `from_the_line` counts."""
    words = sorted(names(pins))  # left before right, lower before upper
    return f"from the line {words[0]} hole to {words[1]} hole"


def _ordered(pins: Pins) -> tuple[Vector, Vector]:
    return (pins.first, pins.second) if names(pins)[0] in ("left", "lower") else (pins.second, pins.first)
