"""How well a shop measures, in sentences."""

import math
from typing import Final

from coaxly.fitter.geometry import clock, direction
from coaxly.fitter.shop.study import Study

from ...entry.lengths import measured, number, show_length
from ..smallwords import EACH_WAY, counted

_NAMES: Final = {"people": "Between people", "mountings": "Between mountings", "residual": "Between repeats"}
_ADDS: Final = {"people": "another person", "mountings": "another mounting of the dial"}
_IMPROVE: Final = {
    "people": "people: let all of them sweep by one written order",
    "mountings": "mounting: a stiffer arm, a cleaner seat for the base",
    "repeats": "the sweep itself: the way to turn and to stop, the plunger, loose joints of the arm",
    "sense": "the sense of turning: turn one way only, or free what drags",
}


def study_lines(found: Study, unit: str) -> list[str]:
    """What comes from where, what it costs of the limit, and what to do first."""
    lines = [f"STUDY of {found.sweeps} sweeps of {counted(found.housings, 'housing')}", ""]
    for one in found.components:
        between = f"{number(one.low, unit)} to {show_length(one.high, unit)}"
        lines.append(f"  {_NAMES[one.name]}: {show_length(one.sd, unit)} {EACH_WAY} ({between}, 95 %)")
    lines += [
        "  Two run-outs by one person and mounting differ by less than "
        f"{show_length(found.limit_95, unit)}, 95 %",
        f"  Repeatability {_exact(found.repeatability, unit)} from {found.repeatability_freedom:.0f} degrees "
        "of freedom",
        f"  One sweep {_varied(found)} scatters {_exact(found.reproducibility, unit)}, "
        f"{found.reproducibility_freedom:.0f} degrees (--keep: later sweeps count on it)",
    ]
    unknown = [adds for name, adds in _ADDS.items() if name not in _seen(found)]
    if unknown:
        lines.append(f"  What {' or '.join(unknown)} adds these sweeps cannot say")
    lines += _table_lines(found, unit)
    if found.claimed is not None:
        lines.append(f"  The sweeps themselves claim {_exact(found.claimed, unit)}")
    if found.share is not None and found.limit is not None:
        share, limit = f"{100.0 * found.share:.0f} %", show_length(found.limit, unit)
        causes = "what came and went" if unknown else "all causes"
        lines.append(f"  Measuring takes up {share} of the limit of {limit} run-out (+-1.96 s, {causes})")
    if found.sense_gap is not None and found.sense_u95 is not None:
        size = measured(math.hypot(*found.sense_gap), found.sense_u95, unit)
        lines.append(f"  Clockwise less against: {size} towards {clock(direction(*found.sense_gap))}")
    lines.append(f"  Improve first {_IMPROVE[found.improve]}")
    lines += [f"  ! {' and '.join(names)} cannot be told apart here" for names in found.together]
    if found.worst is not None:
        worst = found.worst
        away = f"{show_length(worst.distance, unit)} towards {clock(worst.deg)}, seen from behind"
        lines.append(
            f"  ! {worst.name} does not belong: {away} off (chance alone: {100 * worst.chance:.1f} %)"
        )
    return lines


def _seen(found: Study) -> set[str]:
    """Causes that came and went between the sweeps, alone or with another."""
    return {one.name for one in found.components}.union(*found.together)


def _varied(found: Study) -> str:
    """What may be another in a sweep that scatters so."""
    seen = _seen(found)
    who = "by anybody" if "people" in seen else "by the same person"
    return f"{who}, {'mounted anew' if 'mountings' in seen else 'the dial left where it is'},"


def _table_lines(found: Study, unit: str) -> list[str]:
    """The classical table, where there is one: degrees, F, and what each row stands for."""
    if found.table is None:
        return []
    lines = ["  Classical analysis of variance (everybody did the same; x and y pooled):"]
    for row in found.table:
        f = f"F {row.f:.2f}" if row.f is not None else ""
        sd = "" if row.sd is None else f"s {number(row.sd, unit, finer=1)} {unit}"
        lines.append(f"    {row.source:<10}{row.freedom:>5} degrees  {f:<12}{sd}".rstrip())
    return lines


def _exact(mm: float, unit: str) -> str:
    return f"{show_length(mm, unit)} ({mm:.4f} mm)"
