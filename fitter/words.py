"""Warnings in words that a mechanic can act on: what was seen, and what to do about it."""

import dataclasses

from .result import Result
from .setup import Setup
from .units import MM_PER_INCH


def thou(mm: float) -> str:
    """A length in thou and in mm, to the tenth of a thou."""
    return f"{mm * 1000.0 / MM_PER_INCH:.1f} thou ({mm:.3f} mm)"


def warnings_for(result: Result, setup: Setup) -> Result:
    """The result with its warnings filled in."""
    return dataclasses.replace(result, warnings=tuple(_warnings(result, setup)))


def _warnings(result: Result, setup: Setup) -> list[str]:
    found = []
    ecc, tir, limit = result.eccentricity, result.tir, result.decision.limit
    if not ecc.detected:
        found.append(
            f"no eccentricity found above {thou(ecc.detectable)}: "
            "its direction means nothing, fit no dowels by it"
        )
    if result.coverage_deg > 120.0:
        found.append(
            f"no station within {result.coverage_deg:.0f} degrees of arc: the result leans on the rest, "
            "read some in the gap if you can reach it"
        )
    if result.stations - (1 + 2 * result.model.harmonics) < 2:
        found.append(f"{result.stations} stations leave next to nothing to judge scatter by: sweep 8 or more")
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
    closure = result.checks.closure
    if closure is not None and abs(closure) > limit / 5.0:
        found.append(
            f"back at the first station the dial reads {thou(closure)} off: "
            "check that the base and arm are tight and sweep again"
        )
    if setup.unknown:
        found.append("setup keys not understood and not used: " + ", ".join(setup.unknown))
    return found
