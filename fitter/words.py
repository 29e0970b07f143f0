"""Warnings in words that a mechanic can act on: what was seen, and what to do about it."""

import dataclasses

from .geometry import clock
from .result import Result
from .setup import Setup
from .units import MM_PER_INCH


def thou(mm: float) -> str:
    """A length in thou and in mm, to the tenth of a thou."""
    return f"{mm * 1000.0 / MM_PER_INCH:.1f} thou ({mm:.3f} mm)"


def warnings_for(result: Result, setup: Setup, next_deg: float) -> Result:
    """The result with its warnings filled in. `next_deg`: where one more station would help most."""
    found = [*_of_coverage(result, next_deg), *_of_faults(result), *_of_form(result)]
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
            f"out of round by {thou(result.form.peak_to_valley)}: that is form, "
            "which dowels cannot move; look for burrs, paint or a warped housing"
        )
    if tir.swept > limit >= tir.fitted:
        found.append(
            f"the dial swings {thou(tir.swept)}, over the limit, but only {thou(tir.fitted)} of it is "
            "off-centre: moving the housing cannot cure the rest"
        )
    return found
