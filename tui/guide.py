"""How to set the dowels of an option: the one source for words and picture, on screen, in plain
lines and in a report. Everything is seen from behind the engine.
"""

from dataclasses import dataclass

from fitter.body import Pins
from fitter.geometry import Vector, clock, direction
from fitter.plan import Dowel, Option

from .lengths import length
from .raster import Glyphs, Raster, arrow


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
    spots = (pins.first, pins.second)
    side = abs(spots[0][0] - spots[1][0]) >= abs(spots[0][1] - spots[1][1])
    axis, words = (0, ("left", "right")) if side else (1, ("lower", "upper"))
    first_name, second_name = words if spots[0][axis] < spots[1][axis] else words[::-1]
    return [
        Place(name, spot, dowel)
        for name, spot, dowel in zip((first_name, second_name), spots, option.dowels, strict=True)
    ]


def guide_lines(option: Option, pins: Pins | None, unit: str) -> list[str]:
    """What to do, a step a line."""
    spots = places(option, pins)
    if not spots:
        return ["Leave the housing as it is."]
    lines = ["Stand behind the engine and look at the flywheel; 12 o'clock is up."]
    first, second = (spot.dowel for spot in spots)
    if first == second:
        lines.append(f"Both dowels: {length(first.offset, unit)}, high side to {_at(first)}.")
    else:
        lines += [
            f"{name.capitalize()} dowel: {length(dowel.offset, unit)}, high side to {_at(dowel)}."
            for name, dowel in ((spot.name, spot.dowel) for spot in spots)
        ]
    x, y = option.shift
    lines.append(
        f"The housing then moves {length((x * x + y * y) ** 0.5, unit)} towards {clock(direction(x, y))}; "
        f"expect {length(option.predicted.tir_fitted, unit)} TIR, "
        f"dial swing {length(option.predicted.tir_swept, unit)}."
    )
    if option.window_deg is not None and option.window_deg < 180.0:
        lines.append(f"A turn of up to {option.window_deg:.0f} degrees off the mark still ends inside.")
    if option.bind is not None and option.turn_deg is not None:
        way = "anticlockwise" if option.turn_deg > 0.0 else "clockwise"
        lines.append(
            f"The holes must give {length(abs(option.bind), unit)}; "
            f"the housing turns {abs(option.turn_deg):.3f} degrees {way}."
        )
    lines.append("Seen from the FRONT the clock runs the other way: do not read the angle there.")
    return lines


def _at(dowel: Dowel) -> str:
    mark = f", mark or slot to {dowel.mark_clock}" if dowel.mark_clock != dowel.clock else ""
    return f"{dowel.clock} ({dowel.deg:.0f} deg){mark}"


def draw_guide(option: Option, pins: Pins | None, width: int, height: int, glyphs: Glyphs) -> Raster:
    """The two dowels in their holes, the high side of each an arrow, and the move of the housing."""
    raster = Raster(width, height, glyphs)
    centre = (width / 2.0, float(height))
    rim = min(width / 2.0, float(height)) - 1.0
    raster.ring("faint", centre, rim, 0.3)
    raster.text("hour", round(centre[0]) - 1, 0, "12")
    radius = max(rim * 0.26, 2.0)
    for place, spot in zip(places(option, pins), _spots(pins, centre, rim, radius), strict=False):
        raster.ring("station", spot, radius, 0.4)
        raster.polygon("arrow", arrow(spot, 1.7 * radius, place.dowel.deg, 1.1 * radius))
    if option.dowels:
        x, y = option.shift
        raster.polygon("fit", arrow(centre, 0.7 * rim, direction(x, y), 0.3 * rim))
    return raster


def _spots(pins: Pins | None, centre: Vector, rim: float, radius: float) -> list[Vector]:
    """Where the dowels are drawn: in true directions, level left and right where not known."""
    positions = (pins.first, pins.second) if pins is not None else ((-1.0, 0.0), (1.0, 0.0))
    farthest = max((x * x + y * y) ** 0.5 for x, y in positions) or 1.0
    scale = (rim - radius) / farthest
    return [(centre[0] + x * scale, centre[1] - y * scale) for x, y in positions]


def guide_picture(option: Option, pins: Pins | None, glyphs: Glyphs = "ascii") -> list[str]:
    """The picture as plain lines."""
    if not option.dowels:
        return []
    rows = draw_guide(option, pins, 46, 19, glyphs).rows()
    return ["".join(text for text, _ in row).rstrip() for row in rows]
