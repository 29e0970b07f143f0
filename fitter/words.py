"""Warnings in words that a mechanic can act on: what was seen, and what to do about it."""

import dataclasses

from .certainty.unseen import Unseen
from .geometry import clock
from .reading.setup import Setup
from .result import Result
from .units import MM_PER_INCH, MM_PER_THOU


def thou(mm: float) -> str:
    """A length in thou and in mm, to the tenth of a thou."""
    return f"{mm * 1000.0 / MM_PER_INCH:.1f} thou ({mm:.3f} mm)"


def warnings_for(result: Result, setup: Setup, next_deg: float, unseen: Unseen) -> Result:
    """The result with its warnings filled in. `next_deg`: where one more station would help most."""
    found = [*_of_coverage(result, next_deg), *_of_faults(result), *_of_form(result)]
    found += _of_unseen(result, setup, unseen)
    if setup.unknown:
        found.append("setup keys not understood and not used: " + ", ".join(setup.unknown))
    return dataclasses.replace(result, warnings=tuple(found))


def _of_coverage(result: Result, next_deg: float) -> list[str]:
    found = []
    ecc = result.eccentricity
    if not ecc.detected:
        found.append(
            f"no eccentricity found above {thou(ecc.detectable)}: "
            "its direction means nothing, fit no dowels by it"
        )
    if result.coverage_deg > 120.0:
        found.append(
            f"nothing was read over {result.coverage_deg:.0f} degrees: the result leans on the rest. "
            f"Read a station near {clock(next_deg)} if you can reach it"
        )
    if result.stations - (1 + 2 * result.model.harmonics) < 2:
        found.append(f"{result.stations} stations leave next to nothing to judge scatter by: sweep 8 or more")
    return found


def _of_faults(result: Result) -> list[str]:
    found = []
    checks, limit = result.checks, result.decision.limit
    for outlier in checks.outliers:
        side = "high" if outlier.residual > 0.0 else "low"
        found.append(
            f"the reading at {outlier.clock} is {thou(abs(outlier.residual))} too {side} and was left out: "
            f"{outlier.looks}. Clean it and read it again"
        )
    if (step := checks.step) is not None:
        found.append(
            f"the dial jumped by {thou(step.size)} between {clock(step.after_deg)} and "
            f"{clock(step.before_deg)}: the rig was knocked or slipped. Tighten it and sweep again"
        )
    elif checks.closure is not None and abs(checks.closure) > limit / 5.0:
        found.append(
            f"back at the first station the dial reads {thou(checks.closure)} off: "
            "check that the base and arm are tight and sweep again"
        )
    if checks.hysteresis is not None and abs(checks.hysteresis) > limit / 5.0:
        found.append(
            f"turning back, the dial reads {thou(abs(checks.hysteresis))} differently: "
            "the arm or the tip drags, turn one way only"
        )
    return found


def _of_form(result: Result) -> list[str]:
    found = []
    tir, limit = result.tir, result.decision.limit
    if result.form.peak_to_valley > max(tir.fitted, limit / 2.0):
        found.append(
            f"out of round by {thou(result.form.peak_to_valley)}, "
            "which dowels cannot cure; look for burrs, paint or a warped housing"
        )
    if tir.swept > limit >= tir.fitted:
        found.append(
            f"the dial TIR is {thou(tir.swept)}, over the limit, but only {thou(tir.fitted)} of it is "
            "off-centre: moving the housing cannot cure the rest"
        )
    return found


def _of_unseen(result: Result, setup: Setup, unseen: Unseen) -> list[str]:
    """What this sweep is blind to, last: nothing is known to be wrong, but nobody could tell."""
    found = []
    hidden = [_listed([str(k) for k in unseen.lobes]) + " lobes"] if unseen.lobes else []
    if unseen.drift:
        hidden.append("drift that comes back" if unseen.closed else "drift")
    if unseen.lag:
        hidden.append("a dial that drags")
    if hidden:
        allowed = 2.0 * unseen.allowed_mm
        small = f": +-{thou(allowed)} is allowed for" if allowed > 0.05 * MM_PER_THOU else ""
        found.append(f"this sweep would not show {_listed(hidden)}{small}. {_would_show(result, unseen)}")
    if unseen.gap_mm:
        found.append(
            f"turned one way and the other, the dial follows {thou(unseen.gap_mm)} apart: the plunger, the "
            "arm or the angle drags. Both ways together cancel it, one way alone would not"
        )
    ecc = result.eccentricity
    if setup.zero_sd_deg > 0.0 and ecc.detected and result.decision.state != "inside":
        found.append(
            "the direction is no better than your 12 o'clock mark, "
            f"which is taken as good to +-{2.0 * setup.zero_sd_deg:g} degrees"
        )
    return found


def _would_show(result: Result, unseen: Unseen) -> str:
    """The sweep that would show what this one does not: one back again is as blind to a drift that comes
    back, one the same way to a drag."""
    ways = []
    if unseen.lobes or unseen.drift:
        turn = "another turn the same way"
        if unseen.on_deg is not None:
            turn += f", its stations {unseen.on_deg:g} degrees further on,"
        shown = [
            name for name, hidden in (("the lobes", unseen.lobes), ("the drift", unseen.drift)) if hidden
        ]
        more = " (12 stations the lobes, too)" if unseen.lobes and result.stations < 12 else ""
        ways.append(f"{turn} shows {' and '.join(shown)}{more}")
    if unseen.lag:
        ways.append("one turn the other way shows the drag")
    words = "; ".join(ways)
    return words[0].upper() + words[1:]


def _listed(names: list[str]) -> str:
    """a, b or c."""
    return " or ".join(filter(None, [", ".join(names[:-1]), names[-1]]))
