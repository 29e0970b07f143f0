"""The face in words: how far out of square, where it is high, a shim for each bolt, and what that does."""

import math
from itertools import zip_longest
from typing import Final

from coaxly.fitter import Result
from coaxly.fitter.face import Shim, Squareness
from coaxly.fitter.withheld import doubted

from ...entry.lengths import number, says, show_length, whole_degrees
from .findings import NO_DIRECTION, is_stocked, slope, stack_lines
from .noverdict import first

BESIDES: Final = "These go in BESIDES those that are in:"


def high(result: Result, found: Squareness) -> str:
    """What is drawn large beside the verdict."""
    if not result.eccentricity.detected:
        return "SQUARE"
    return f"HIGH {found.high_clock}" if result.eccentricity.has_direction else "HIGH ?"


def tilt_line(result: Result, found: Squareness, unit: str) -> str:
    """Beneath it: the tilt, and where the face is high in degrees."""
    ecc = result.eccentricity
    if not ecc.detected:
        return f"not out of square by more than {show_length(ecc.detectable, unit)}"
    if not ecc.has_direction:
        return f"where it is high: {NO_DIRECTION}"
    tilt = f"tilt {slope(found.tilt, unit)}, " if found.tilt is not None else "high "
    return f"{tilt}at {whole_degrees(ecc.high_deg)} +- {ecc.u95_deg:.0f} deg"


def goes_in(shim: Shim, stocked: bool) -> float:
    """How much goes under a place, mm: of the stock where that is known, else what it wants."""
    return shim.thickness if stocked else shim.wanted


def shim_lines(result: Result, found: Squareness, unit: str) -> list[str]:
    """A place a line: "2:00  5.0 + 1.0 thou"."""
    if not result.eccentricity.has_direction:
        return ["No shims: no direction was found."]
    stocked = is_stocked(found)
    what = "Shims between housing and block" if stocked else "Each place wants"
    lines = [
        *unknown(found),
        f"{what}, {unit}:",
        *_two_columns([_under(shim, unit, stocked) for shim in found.shims]),
    ]
    lines += bore_lines(found, unit)
    lines += stack_lines(found, unit)
    if not stocked:
        lines.append("Which shims are in stock is not known (shims in job.toml).")
    if found.left is not None:
        lines.append(f"Run-out of the face after them: {show_length(found.left, unit)}")
    return lines


def unknown(found: Squareness) -> list[str]:
    """What is missing before shims can be told for the bolts; without the radius nothing else helps."""
    if found.tilt is None:
        return [
            "! The radius at which the dial ran is not known: no tilt, no shims for the bolts. J, E asks for "
            "it (face_radius in job.toml)."
        ]
    if any(shim.position is None for shim in found.shims):
        return ["! Where the bolts are is not known (bolts in job.toml): the places are the stations."]
    return []


def _under(shim: Shim, unit: str, stocked: bool) -> str:
    """One place: " 2:00 5.0+1.0"."""
    parts = [number(part, unit) for part in (shim.stack if stocked else (shim.wanted,))]
    return f"{shim.clock:>5} {'+'.join(parts) if any(map(says, parts)) else 'none'}"


def _two_columns(cells: list[str]) -> list[str]:
    """Down the first, then down the second."""
    half, wide = (len(cells) + 1) // 2, max(map(len, cells), default=0) + 2
    pairs = zip_longest(cells[:half], cells[half:], fillvalue="")
    return [f"{left:<{wide}}{right}".rstrip() for left, right in pairs]


def before_shimming(result: Result) -> list[str]:
    """Why no shims should go in yet, where there is a reason."""
    if kinds := result.decision.withheld or doubted(result):
        return [f"! No shims {first(kinds)}: sweep again."]
    if result.decision.state == "unsure":
        return ["! Too close to call: sweep again before you shim, with more stations or another turn."]
    return []


def bore_lines(found: Squareness, unit: str) -> list[str]:
    """What shimming does to the bore."""
    if found.shift is not None:
        moved = show_length(math.hypot(*found.shift), unit)
        return [
            f"They carry the bore {moved} towards {found.high_clock} (tilt x depth): sweep it after this."
        ]
    if found.tilt is None:
        return ["They carry the bore by tilt x depth: sweep it after this."]
    return ["They carry the bore by tilt x depth (depth in job.toml is not known): sweep it after this."]
