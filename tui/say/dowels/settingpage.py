"""How the chosen dowels are set: few words for the one who stands at the engine with a dowel in the hand."""

from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Option

from ...entry.lengths import degrees, number
from ..cautions import SHORT
from .guide import places
from .holes import from_the_line, the_line
from .optiontable import chances


def large_lines(option: Option, pins: Pins | None, unit: str) -> str:
    """What is drawn largest: one line for a pair set alike, else one for each dowel."""
    spots = places(option, pins)
    if spots[0].dowel == spots[1].dowel:
        return f"BOTH TO {spots[0].dowel.mark_clock}"
    return "\n".join(f"{s.name} {number(s.dowel.offset, unit)} {s.dowel.mark_clock}".upper() for s in spots)


def sizes(option: Option, unit: str) -> str:
    """ "2 x 5.0 thou", "7.0 and 5.0 thou"."""
    offsets = [number(dowel.offset, unit) for dowel in option.dowels]
    return f"2 x {offsets[0]} {unit}" if len(set(offsets)) == 1 else f"{' and '.join(offsets)} {unit}"


def under_line(option: Option, pins: Pins | None) -> str:
    """Beneath the large line: what points there, in degrees and from the line through the holes."""
    spots = places(option, pins)
    marked = any(spot.dowel.mark_deg != spot.dowel.deg for spot in spots)
    what = "the marks or slots" if marked else "the high sides"
    alike = spots[0].dowel == spots[1].dowel
    named = [("", spots[0].dowel)] if alike else [(f"{spot.name} ", spot.dowel) for spot in spots]
    parts = [", ".join(f"{name}{degrees(dowel.mark_deg)}" for name, dowel in named)]
    if pins is not None:
        turns = ", ".join(f"{name}{from_the_line(dowel.mark_deg, pins)}" for name, dowel in named)
        parts.append(f"{the_line(pins)}: {turns}")
    if marked and alike:
        parts.append(f"the high sides are at {spots[0].dowel.clock}")
    return f"is where {what} go, seen from BEHIND: {'; '.join(parts)}"


def after_lines(option: Option) -> list[str]:
    """What to expect, and what can hurt."""
    return [
        f"! {SHORT['dowels']}: C",
        " ".join(chances(option, None, "")),
        "From the FRONT the clock runs the other way.",
        "This page stays until L is pressed.",
    ]
