"""How to set the dowels of an option, in words, on screen, in plain lines and in a report; the picture
is `dowelpicture`. Everything is seen from behind the engine.
"""

import math
from dataclasses import dataclass

from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Dowel, Option
from coaxly.fitter.geometry import Vector, clock, direction

from ...entry.lengths import degrees, show_length, written
from .holes import by_the_line, names


@dataclass(frozen=True)
class Place:
    """One dowel in its hole: name ("left"), position in mm (None where it is not known)."""

    name: str
    position: Vector | None
    dowel: Dowel


def places(option: Option, pins: Pins | None) -> list[Place]:
    """The two dowels with the names that a person behind the engine would give them."""
    if not option.dowels:
        return []
    if pins is None:
        return [Place(name, None, dowel) for name, dowel in zip(("one", "other"), option.dowels, strict=True)]
    return [
        Place(name, spot, dowel)
        for name, spot, dowel in zip(names(pins), (pins.first, pins.second), option.dowels, strict=True)
    ]


def guide_lines(option: Option, pins: Pins | None, unit: str) -> list[str]:
    """What to do, a step a line."""
    spots = places(option, pins)
    if not spots:
        return ["Leave the housing as it is."]
    lines = ["Stand behind the engine and look at the flywheel; 12 o'clock is up."]
    first, second = (spot.dowel for spot in spots)
    if first == second:
        lines.append(f"Both dowels: {show_length(first.offset, unit)}, high side to {_at(first)}.")
    else:
        lines += [
            f"{name.capitalize()} dowel: {show_length(dowel.offset, unit)}, high side to {_at(dowel)}."
            for name, dowel in ((spot.name, spot.dowel) for spot in spots)
        ]
    if said := by_the_line([spot.dowel.mark_deg for spot in spots], pins):
        what = "marks" if first.mark_deg != first.deg else "high sides"
        lines.append(f"However the engine lies, the {what} are {said}.")
    x, y = option.shift
    lines.append(
        f"The housing then moves {show_length((x * x + y * y) ** 0.5, unit)} "
        f"towards {clock(direction(x, y))}; "
        f"expect a run-out of {show_length(option.predicted.tir_fitted, unit)}, "
        f"dial TIR {show_length(option.predicted.tir_swept, unit)}."
    )
    lines += leeway(option)
    if option.bind is not None and option.turn_deg is not None:
        way = "anticlockwise" if option.turn_deg > 0.0 else "clockwise"
        lines.append(
            f"The holes need a clearance of {show_length(abs(option.bind), unit)}; "
            f"the housing turns {written(abs(option.turn_deg), '.3f')} degrees {way}."
        )
    lines += way_lines(option)
    lines.append("Seen from the FRONT the clock runs the other way: do not read the angle there.")
    return lines


def leeway(option: Option) -> list[str]:
    """How far off its mark a dowel may be and the bore still surely inside; nothing where any angle does."""
    sure = option.sure_window_deg
    if sure is None:
        return ["No angle is safe: even right on the mark it is not 95 % sure to end inside."]
    if sure >= 180.0:
        return []
    return [f"A turn of up to {math.floor(sure)} degrees off the mark still ends inside, 95 % sure."]


def way_lines(option: Option) -> list[str]:
    """The way of setting, a step a line."""
    marked = any(dowel.mark_deg != dowel.deg for dowel in option.dowels)
    first = f"1 Put both {'marks' if marked else 'high sides'} there"
    if option.way == "free":
        return [
            f"{first}, dowels just loose enough to turn.",
            "2 Push the housing home by hand. If it will not slide, turn a dowel a little, with a finger or "
            "a screwdriver through the housing's hole. Never draw it home with the bolts.",
            "3 Look at both marks once more, lock the dowels, then bolts to the maker's torque.",
        ]
    return [
        f"{first} and lock them.",
        "2 Push the housing home by hand. If it will not slide, take it off and look at the marks: never "
        "draw it home with the bolts.",
        "3 Bolts to the maker's torque.",
    ]


def _at(dowel: Dowel) -> str:
    mark = f", mark or slot to {dowel.mark_clock}" if dowel.mark_clock != dowel.clock else ""
    return f"{dowel.clock} ({degrees(dowel.deg)}){mark}"
