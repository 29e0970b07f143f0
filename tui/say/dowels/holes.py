"""A direction from the line through the two dowel holes: what holds however the engine lies in the car."""

from collections.abc import Sequence

from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.geometry import difference, direction

_SAME = 0.5
"""Degrees up to which a direction is along the line; what is more is not told as 0."""


def names(pins: Pins) -> tuple[str, str]:
    """What a person behind the engine calls the first and the second hole."""
    (x1, y1), (x2, y2) = pins.first, pins.second
    if abs(x1 - x2) >= abs(y1 - y2):
        return ("left", "right") if x1 < x2 else ("right", "left")
    return ("lower", "upper") if y1 < y2 else ("upper", "lower")


def from_the_line(deg: float, pins: Pins) -> str:
    """ "32 deg clockwise", from `the_line`."""
    turn = difference(deg, line_deg(pins))
    return (
        f"{abs(turn):.0f} deg {'clockwise' if turn > 0.0 else 'anticlockwise'}"
        if abs(turn) > _SAME
        else "along"
    )


def the_line(pins: Pins) -> str:
    """Whence `from_the_line` counts."""
    words = sorted(names(pins))  # left before right, lower before upper
    return f"from the line {words[0]} hole to {words[1]} hole"


def by_the_line(degrees: Sequence[float], pins: Pins | None) -> str:
    """Of the dowels in the first and the second hole: "32 deg clockwise from the line left hole to right
    hole"; "" where the holes are not known, or nothing is turned."""
    if pins is None or not degrees:
        return ""
    turns = [from_the_line(deg, pins) for deg in degrees]
    if len(set(degrees)) == 1:
        return f"{turns[0]}, {the_line(pins)}" if turns[0] == "along" else f"{turns[0]} {the_line(pins)}"
    named = ", ".join(f"{name} hole {turn}" for name, turn in zip(names(pins), turns, strict=True))
    return f"{named}, {the_line(pins)}"


def line_degrees(degrees: Sequence[float], pins: Pins) -> list[float]:
    """The same as numbers, clockwise, from -180 to below 180."""
    return [difference(deg, line_deg(pins)) for deg in degrees]


def line_deg(pins: Pins) -> float:
    """Where the line itself points, degrees clockwise from 12."""
    first, second = pins.first, pins.second
    if names(pins)[0] in ("right", "upper"):
        first, second = second, first
    return direction(second[0] - first[0], second[1] - first[1])
