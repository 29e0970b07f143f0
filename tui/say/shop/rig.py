"""What a sweep on a bar and a check against gauge steps found, in words."""

from typing import Any, Literal

from coaxly.fitter.dial import DialCheck, StepError
from coaxly.fitter.sag import Sag

from ...entry.lengths import measured, number, show_exact

Judged = Literal["within", "beyond", "unsure"]


def sag_lines(sag: Sag, unit: str) -> list[str]:
    """The droop of a dial's arm."""
    lines = [
        f"Sag of the dial's arm      {measured(sag.amount, sag.u95, unit, finer=1)}",
        f"  Bottom against top       the dial reads {number(sag.bottom, unit, signed=True, finer=1)} {unit}",
        f"  To the side              {measured(sag.sideways, sag.sideways_u95, unit, finer=1)}, should be "
        "nothing",
    ]
    if sag.odd and sag.amount < -sag.u95:
        lines.append("  ! it reads high at the bottom: does it count the other way (--polarity -1)?")
    elif sag.odd:
        lines.append("  ! weight does not pull to the side: tighten the arm, lay the bar level, mark its top")
    return lines


def judged(step: StepError, mpe_mm: float) -> Judged:
    """One error against what is permitted, with its interval (guard band, as JCGM 106 has it)."""
    if abs(step.error) - step.u95 > mpe_mm:
        return "beyond"
    return "within" if abs(step.error) + step.u95 <= mpe_mm else "unsure"


_JUDGED = {"within": "", "beyond": "  BEYOND what is permitted", "unsure": "  too close to call"}


def dial_lines(check: DialCheck, mpe_mm: float, unit: str) -> list[str]:
    """Errors of a dial. mpe_mm: what is permitted, 0 where nobody said."""
    lines = [
        f"Dial against {len(check.steps)} gauge steps, {check.readings} readings",
        "  step          error of reading",
    ]
    for step in check.steps[1:]:
        said = _JUDGED[judged(step, mpe_mm)] if mpe_mm else ""
        error = f"{measured(step.error, step.u95, unit, signed=True, finer=1):>20}"
        lines.append(f"  {show_exact(step.nominal, unit):<12}  {error}{said}")
    if check.hysteresis is not None and check.hysteresis_u95 is not None:
        more = "more" if check.hysteresis > 0.0 else "less"
        apart = measured(abs(check.hysteresis), check.hysteresis_u95, unit, finer=1)
        lines.append(f"  Going in it reads {more} than going out, by {apart}")
    repeats = number(check.repeatability, unit, finer=1)
    lines.append(f"  It repeats to {repeats} {unit} (standard deviation of a reading)")
    if check.resolution:
        lines.append(f"  It shows steps of {number(check.resolution, unit, finer=1)} {unit}")
    first = show_exact(check.steps[0].nominal, unit)
    holds = "the table holds while the dial is zeroed as now"
    return [*lines, f"  Errors are against the first step, {first}; {holds}"]


def nonsense(check: DialCheck, due: int) -> str:
    """Why a check cannot be of the steps that it names, "" if it can. due: readings that it asks for."""
    if check.readings < due:
        return f"only {check.readings} of {due} readings of the steps were taken"
    first = check.steps[0].nominal
    for step in check.steps[1:]:
        if max(abs(step.error), step.u95) > step.nominal - first:
            wrong = show_exact(step.nominal - first, "mm")
            return f"the dial's error is larger than the step of {wrong} itself: a step was out of its place"
    return ""


def sag_object(sag: Sag, name: str) -> dict[str, Any]:
    """For `--json`."""
    return {"rig": name, "sag": {"amount": sag.amount, "u95": sag.u95, "bottom": sag.bottom,
            "sideways": sag.sideways, "sideways_u95": sag.sideways_u95, "odd": sag.odd}}  # fmt: skip


def dial_object(check: DialCheck, name: str) -> dict[str, Any]:
    """For `--json`."""
    return {"rig": name, "dial": check.to_dict()}
