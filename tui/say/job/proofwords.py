"""Did it work? The cure in the few words that are drawn large, what happened, and what to do if anything."""

from collections.abc import Iterable
from typing import Final, Literal

from coaxly.fitter import Result
from coaxly.fitter.dowels.causes import FINE, TURNED, Cause, found_mirrored
from coaxly.fitter.dowels.compare import Comparison, Finding
from coaxly.fitter.geometry import clock

from ...entry.lengths import number, says, show_length
from ..dowels import explanations
from ..smallwords import capital
from ..sweep import warnings
from ..sweep.noverdict import large_word

Then = Literal["on", "choose", "again"]
"""What comes next: nothing more of this, other dowels, or another sweep once the cure is done."""

IN_DOUBT: Final = "Nothing is proved by a sweep in doubt, and nothing is noted: sweep again"
SUPPOSED: Final = (
    "Other dowels than the job says are in: nothing is noted. If they are in, say so first: coaxly job fitted"
)
TOO_CLOSE: Final = "Whether it is inside is too close to call: sweep again as left before other dowels go in"

_LARGE: Final = {"not seated": "SEAT IT", "dowels exchanged": "SWAP THEM"}
_HELD: Final = {"not seated", "one dowel only"}


def cure(finding: Finding, left: Result) -> str:
    """What to do, in capitals."""
    decision, causes = left.decision, _causes(finding)
    fine = causes <= set(FINE)
    if decision.state == "inside":
        return "DONE" if fine else "SEAT IT" if causes & _HELD else "LEAVE IT"
    if word := large_word(decision.withheld):
        return word
    if fine:
        return "SWEEP AGAIN" if decision.state == "unsure" else "CHOOSE OTHERS"
    if causes <= set(TURNED):
        return "CHOOSE OTHERS" if then(finding, left) == "choose" else "SWEEP AGAIN"
    marks = {each.marks_deg for each in finding.among}
    if len(marks) == 1 and (degs := marks.pop()):
        return f"BOTH TO {clock(degs[0])}" if len(degs) == 1 else "TURN THEM"
    return _LARGE[causes.pop()] if len(causes) == 1 and causes <= set(_LARGE) else "LOOK AT THEM"


def then(finding: Finding, left: Result) -> Then:
    """What comes next."""
    if left.decision.state == "inside":
        return "on"
    causes = _causes(finding)
    # Dowels that did what was planned, or a sweep as left that holds, are what others can be chosen from.
    known = causes <= set(FINE) or found_mirrored(causes) == "yes"
    return "choose" if known and left.decision.state == "outside" and not left.decision.withheld else "again"


def happened(finding: Finding) -> str:
    """How probable it is, in words for one who looks for a cause."""
    if not any(each.probability < 1.0 for each in finding.among):
        return ""
    percent = 100.0 * finding.probability
    return " (almost certainly)" if percent >= 99.5 else f" ({percent:.0f} % probable)"


def finding_sentence(finding: Finding, unit: str) -> str:
    """What happened, and how probable that is."""
    return f"{capital(explanations.words(finding, unit))}{happened(finding)}."


def not_as_planned(finding: Finding, unit: str) -> str:
    """For who reads no more than one page; "" where the dowels did what was planned, or nothing was."""
    if _causes(finding) <= set(FINE):
        return ""
    return f"It is not proved that the dowels did what was planned. {finding_sentence(finding, unit)}"


def proof_lines(comparison: Comparison, left: Result, unit: str) -> list[str]:
    """One sentence of what happened; what to do, only where something is to be done."""
    finding, inside = comparison.finding, left.decision.state == "inside"
    lines = [finding_sentence(finding, unit)]
    todo = explanations.remedy(finding, inside=inside)
    if not todo and left.decision.state == "outside":
        todo = "the dowels are not at fault: choose others for what remains"
    if not todo and left.decision.state == "unsure" and not left.decision.withheld:
        todo = "too close to call: sweep again, with more stations or another turn"
    if todo:
        lines.append(f"What to do: {todo}.")
    return lines


def shift_lines(comparison: Comparison, unit: str) -> list[str]:
    """Planned against measured, short."""
    lines = []
    if comparison.planned is not None:
        lines.append(f"Planned  {show_length(comparison.planned.amount, unit)} to {comparison.planned.clock}")
    moved = show_length(comparison.measured.amount, unit)
    told = says(moved)
    lines.append(f"Measured {moved} to {comparison.measured.clock}" if told else f"Measured {moved}")
    if apart := explanations.difference_words(comparison, unit):
        lines.append(f"They differ by {apart}.")
    others = [each for each in comparison.explanations if each.cause not in _causes(comparison.finding)]
    lines += [
        f"  {100.0 * each.probability:.0f} % {each.cause}" for each in others if each.probability >= 0.02
    ]
    return lines


def before_and_after(found: Result, left: Result, unit: str) -> str:
    """Both run-outs, to be drawn large."""
    return f"{number(found.tir.fitted, unit)}→{number(left.tir.fitted, unit)}"


def loud(left: Result, more: Iterable[str], unit: str) -> list[str]:
    """What spoils the proof."""
    remarks = [remark for remark in left.remarks if remark.level == "warning"]
    return [*(f"! {line}" for line in more), *(f"! {warnings.sentence(each, unit)}" for each in remarks)]


def _causes(finding: Finding) -> set[Cause]:
    return {each.cause for each in finding.among}
