"""Which remarks (warnings and notes) a result gets: the rules and their numbers. The sentences are made in
`tui/say`.
"""

import dataclasses
import math
from collections.abc import Iterable, Sequence

from .certainty.further import Further
from .certainty.unseen import Unseen
from .meaning import Meaning
from .reading import corrections
from .reading.setup import Setup
from .reading.twonumbers import PLACE_SD_DEG, SD_MM
from .result import Remark, Result
from .units import MM_PER_THOU

GAP_DEG = 120.0
"""Angle without a station from which it is said where one should be read."""

_TELLING_SHARE = 1.0 / 5.0
"""Share of the limit from which a dial that does not repeat is worth a word."""

_BY_CHANCE = 3.0
"""Standard deviations of the difference of two readings up to which they differ by chance."""

_FORM_SHARE = 0.5

_USUAL_SAG_MM = 1.0 * MM_PER_THOU
"""Droop that an arm on a magnetic base has without anybody knowing it (common practice, no source)."""

_LATE_DEG = 1.0
"""As a 12 o'clock by eye: what turns the direction by less than that is not worth a word."""


def remarked(result: Result, setup: Setup, next_deg: float | None, unseen: Unseen) -> Result:
    """The result with its remarks, warnings first. next_deg: where one more station would tell most, which is
    asked of a sweep with a gap (`GAP_DEG`)."""
    found = [*_of_coverage(result, next_deg), *_of_faults(result)]
    if setup.feature != "sag":
        found += _of_form(result)
    if unseen.gap_mm:
        found.append(Remark.warning("drag", apart_mm=unseen.gap_mm))
    if setup.unknown:
        found.append(Remark.warning("unknown_keys", keys=list(setup.unknown)))
    if setup.two_numbers:
        found.append(Remark.note("two_numbers", within_mm=2.0 * SD_MM, within_deg=2.0 * PLACE_SD_DEG))
    else:
        found += [*_of_unseen(result, setup, unseen), *_of_sag(result, setup)]
    return told_first(result, found)


def told_first(result: Result, more: Iterable[Remark]) -> Result:
    """The result with more remarks, warnings before notes, and before those of their level that are there."""
    remarks = tuple(sorted((*more, *result.remarks), key=lambda each: each.level == "note"))
    return dataclasses.replace(result, remarks=remarks)


def numbered(remark: Remark, which: int, of: int) -> Remark:
    """A remark about one of several recordings that were put together."""
    return dataclasses.replace(remark, facts={**remark.facts, "recording": which, "of": of})


def further(ways: Sequence[Further]) -> Remark:
    """What would tell most, and what each of the other ways would leave. ways: the best first."""
    best, *others = (
        {"way": one.way, "at_deg": one.deg, "readings": one.readings, "u95_mm": one.u95_amount}
        for one in ways
    )
    return Remark.note("further", **best, others=others)


def _of_coverage(result: Result, next_deg: float | None) -> list[Remark]:
    found = []
    if not result.eccentricity.detected and result.feature != "sag":
        # Where the housing is inside, that is good news.
        level = Remark.note if result.decision.state == "inside" else Remark.warning
        found.append(
            level("not_detected", feature=result.feature, detectable_mm=result.eccentricity.detectable)
        )
    if next_deg is not None and result.coverage_deg > GAP_DEG:
        found.append(Remark.warning("gap", gap_deg=result.coverage_deg, next_deg=next_deg))
    if result.stations - (1 + 2 * result.model.harmonics) < 2:
        found.append(Remark.warning("few_stations", stations=result.stations))
    return found


def _of_faults(result: Result) -> list[Remark]:
    checks, telling = result.checks, _TELLING_SHARE * result.decision.limit
    by_chance = _BY_CHANCE * math.sqrt(2.0) * (checks.residual_sd or 0.0)
    found = [
        Remark.warning(
            "bad_station", deg=bad.deg, residual_mm=bad.residual, like=bad.like, probability=bad.probability
        )
        for bad in checks.outliers
    ]
    if (step := checks.step) is not None:
        found.append(
            Remark.warning(
                "step",
                size_mm=step.size,
                after_deg=step.after_deg,
                before_deg=step.before_deg,
                probability=step.probability,
            )
        )
    elif checks.closure is not None and abs(checks.closure) > max(telling, by_chance):
        found.append(Remark.warning("closure", closure_mm=checks.closure))
    if checks.hysteresis is not None and abs(checks.hysteresis) > telling:
        found.append(Remark.warning("hysteresis", hysteresis_mm=checks.hysteresis))
    return found


def _of_form(result: Result) -> list[Remark]:
    found = []
    tir, limit = result.tir, result.decision.limit
    if result.form.peak_to_valley > max(tir.fitted, _FORM_SHARE * limit):
        found.append(Remark.warning("form", feature=result.feature, form_mm=result.form.peak_to_valley))
    if tir.swept > limit >= tir.fitted:
        found.append(Remark.warning("rest", feature=result.feature, swept_mm=tir.swept, fitted_mm=tir.fitted))
    return found


def _of_unseen(result: Result, setup: Setup, unseen: Unseen) -> list[Remark]:
    """What this sweep is blind to: nothing is known to be wrong, but nobody could tell."""
    found = []
    if unseen.lobes or unseen.drift or unseen.lag:
        found.append(
            Remark.note(
                "unseen",
                stations=result.stations,
                lobes=list(unseen.lobes),
                drift=unseen.drift,
                closed=unseen.closed,
                lag=unseen.lag,
                on_deg=unseen.on_deg,
                allowed_mm=2.0 * unseen.allowed_mm,
            )
        )
    if unseen.late_deg > _LATE_DEG and result.eccentricity.detected:
        found.append(Remark.note("delay", within_deg=2.0 * unseen.late_deg))
    turned = result.eccentricity.detected and result.decision.state != "inside"
    if setup.zero_sd_deg > 0.0 and turned and result.feature != "sag":
        found.append(Remark.note("zero", within_deg=2.0 * setup.zero_sd_deg))
    return found


def _of_sag(result: Result, setup: Setup) -> list[Remark]:
    """A droop of the arm that nobody stated, where one of the usual size would turn the verdict: it is the
    same at every turn, and no sweep with this arm shows it.

    Of a bar it is no part: arms differ tenfold, and a bar that always had a usual droop in it would tell of
    that and not of the readings, however often one swept."""
    state, limit = result.decision.state, result.decision.limit
    if setup.sag_mm or setup.sag_sd_mm is not None or state == "unsure":
        return []
    droop = corrections.droop(dataclasses.replace(setup, sag_mm=_USUAL_SAG_MM))
    run_out = 2.0 * math.dist(result.eccentricity.vector, Meaning.of(setup).vector(*droop))
    if (run_out <= limit) == (state == "inside"):
        return []
    return [Remark.note("sag_unstated", sag_mm=_USUAL_SAG_MM, run_out_mm=run_out)]
