"""What happened to a pair of dowels and what to do about it, in sentences."""

from typing import Final

from coaxly.fitter.dowels.compare import FINE, Finding
from coaxly.fitter.dowels.explain import Cause, Explanation
from coaxly.fitter.geometry import clock

from ..entry.lengths import show_length
from ..job.journal import Proof

_WHAT: Final[dict[Cause, str]] = {
    "as planned": "the dowels did what was planned",
    "settled": "the pair settled: a dowel turned a little until the housing slid home, which is no mistake",
    "180 degrees out": "both dowels are set half a turn out",
    "mirrored": "the angle was read from the front",
    "not turned to the mark": "the size is right but the angle is not",
    "not seated": "the housing did not move: the dowels were not changed, or it does not sit home on them",
    "one dowel only": "only about half of the shift arrived: one dowel is not set or not engaged",
    "wrong size": "the direction is right but the size is not",
    "dowels exchanged": "each of the two unlike dowels is in the other one's hole",
    "no shift": "the housing has not moved, as far as can be told",
    "shifted": "the housing has moved; no plan was given to compare it with",
}
_LOOK: Final = (
    "look at the stamps on both dowels, read both marks seen from behind, see that the housing sits home, "
    "then sweep again"
)
_REMEDY: Final[dict[Cause, str]] = {
    "not seated": "see that the dowels are in and the housing sits home on them, and sweep again",
    "one dowel only": _LOOK,
    "wrong size": _LOOK,
    "dowels exchanged": "exchange them, each to the mark of its own hole, and sweep again",
}


_HELD: Final = (
    "it is inside the limit, but a housing that no dowel holds does not stay there: see that both dowels are "
    "in and the housing sits home on them, then sweep once more"
)
_LEAVE: Final = (
    "it is inside the limit as it stands: leave the dowels alone. It moved otherwise than dowels set so "
    "would move it: sweep once more to be sure, and note how the marks really stand"
)
_STAMPS: Final = (
    "it is inside the limit as it stands: leave the dowels alone; read their stamps when the housing is off "
    "again, and note what is really in"
)


def words(finding: Finding, unit: str) -> str:
    """What is believed to have happened, lengths in `unit`."""
    if len(finding.among) == 1:
        return _words(finding.among[0], unit)
    if {each.cause for each in finding.among} <= set(FINE):
        return (
            "as planned, or the pair settled by turning a little until the housing slid home: "
            "neither is a mistake"
        )
    if {each.cause for each in finding.among} == {"one dowel only", "wrong size"}:
        size = next(_words(each, unit) for each in finding.among if each.cause == "wrong size")
        return f"about half of the shift arrived: one dowel is not set or not engaged, or {size}"
    names = " or ".join(each.cause for each in finding.among)
    same = len({_remedy(each) for each in finding.among}) == 1
    return f"{names}: " + ("the cure is the same" if same else "cannot be told from the shift")


def remedy(finding: Finding, *, inside: bool = False) -> str:
    """What to do about it; "" where there is nothing to do. inside: the sweep as left is within the limit,
    so that nothing is to be turned, whatever happened; but what holds the housing is to be seen to."""
    causes = {each.cause for each in finding.among}
    if causes <= set(FINE):
        return ""
    if inside:
        if causes & {"not seated", "one dowel only"}:
            return _HELD
        return _STAMPS if causes <= {"wrong size", "dowels exchanged"} else _LEAVE
    remedies = {_remedy(each) for each in finding.among}
    return remedies.pop() if len(remedies) == 1 else _LOOK


def remedy_noted(proof: Proof) -> str:
    """The same from the record of a proof; "" also where an older version noted it without the marks."""
    among = [Explanation(cause, 0.0, marks) for cause, marks in proof.among if cause in _WHAT]
    if not among:
        return ""
    return remedy(Finding(proof.cause, proof.probability, tuple(among)), inside=proof.state == "inside")


def _words(explanation: Explanation, unit: str) -> str:
    said = _WHAT[explanation.cause]
    if explanation.sizes_mm:
        said += ": the shift is that of " + " and ".join(show_length(d, unit) for d in explanation.sizes_mm)
    return said


def _remedy(explanation: Explanation) -> str:
    if explanation.marks_deg:
        marks = " and ".join(dict.fromkeys(clock(deg) for deg in explanation.marks_deg))
        return f"set the high sides to {marks} seen from behind the engine, and sweep again"
    return _REMEDY.get(explanation.cause, "")
