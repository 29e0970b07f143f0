"""What happened to a pair of dowels and to its two sweeps, and what to do about it, in sentences."""

from typing import TYPE_CHECKING, Final

from coaxly.fitter.dowels.causes import FINE, TURNED, Cause
from coaxly.fitter.geometry import clock

from ...entry.lengths import show_length
from ...job.folder.journal import Proof

if TYPE_CHECKING:
    from coaxly.fitter.dowels.compare import Comparison, Finding
    from coaxly.fitter.dowels.explain import Explanation

_WHAT: Final[dict[Cause, str]] = {
    "as planned": "the dowels did what was planned",
    "settled": "the pair settled: a dowel turned a little until the housing slid home, which is no mistake",
    "180 degrees out": "both dowels are set half a turn out",
    "mirrored": "the dowels' angle was read from the front",
    "not turned to the mark": "the size is right but the angle is not",
    "not seated": "the housing did not move: the dowels were not changed, or it does not sit home on them",
    "one dowel only": "only about half of the shift arrived: one dowel is not set or not engaged",
    "wrong size": "the direction is right but the size is not",
    "dowels exchanged": "each of the two unlike dowels is in the other one's hole",
    "one half a turn out": "one of the two dowels is set half a turn out",
    "one mirrored": "the angle of one of the two dowels was read from the front",
    "found swept the other way": "the sweep as found is mirrored",
    "left swept the other way": "the sweep as left is mirrored",
    "both swept the other way": "both sweeps are mirrored",
    "no shift": "the housing has not moved, as far as can be told",
    "shifted": "the housing has moved; no plan was given to compare it with",
}
_MIRRORED: Final = (
    "the crank was turned the other way than was said, anticlockwise seen from behind where none was, or "
    "the dial's angles were read from the front"
)
_LOOK: Final = (
    "look at the stamps on both dowels, read both marks seen from behind, see that the housing sits home, "
    "then sweep again"
)
_AS_SAID: Final = "the way that was said, else clockwise seen from behind"
_SWEEP_AS_SAID: Final = (
    f"sweep again, turning the crank {_AS_SAID}; where it must go the other way, say so with --turn"
)
_REMEDY: Final[dict[Cause, str]] = {
    "not seated": "see that the dowels are in and the housing sits home on them, and sweep again",
    "one dowel only": _LOOK,
    "wrong size": _LOOK,
    "dowels exchanged": "exchange them, each to the mark of its own hole, and sweep again",
    "found swept the other way": (
        "the sweep as left holds: choose again from that one, with the dowels that are in it"
    ),
    "left swept the other way": f"leave the dowels alone: {_SWEEP_AS_SAID}",
    "both swept the other way": (
        f"{_SWEEP_AS_SAID}. The dowels were chosen by a mirrored sweep: choose again once it is swept right"
    ),
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
_EITHER_WAY: Final = (
    "it is inside the limit whichever way the crank went: leave the dowels alone; sweep once more, "
    f"turning the crank {_AS_SAID}, to be sure"
)


def words(finding: "Finding", unit: str) -> str:
    """What is believed to have happened, lengths in `unit`."""
    causes = {each.cause for each in finding.among}
    why = f" ({_MIRRORED})" if causes & set(TURNED) else ""
    if len(finding.among) == 1:
        return _words(finding.among[0], unit) + why
    if causes <= set(FINE):
        return (
            "as planned, or the pair settled by turning a little until the housing slid home: "
            "neither is a mistake"
        )
    if causes == {"one dowel only", "wrong size"}:
        size = next(_words(each, unit) for each in finding.among if each.cause == "wrong size")
        return f"about half of the shift arrived: one dowel is not set or not engaged, or {size}"
    either = " OR ".join(_words(each, unit) for each in finding.among)
    if len({_remedy(each) for each in finding.among}) == 1:
        return f"{either}: the cure is the same"
    return f"cannot tell between: {either}{why}"


def remedy(finding: "Finding", *, inside: bool = False) -> str:
    """What to do about it; "" where there is nothing to do. inside: the sweep as left is within the limit,
    so that nothing is to be turned, whatever happened; but what holds the housing is to be seen to."""
    causes = {each.cause for each in finding.among}
    if causes <= set(FINE):
        return ""
    if inside:
        return _where_it_is_inside(causes)
    remedies = {_remedy(each) for each in finding.among}
    return remedies.pop() if len(remedies) == 1 else _told_apart(finding)


def _where_it_is_inside(causes: set[Cause]) -> str:
    if causes & {"not seated", "one dowel only"}:
        return _HELD
    if causes & set(TURNED):
        return _EITHER_WAY
    return _STAMPS if causes <= {"wrong size", "dowels exchanged"} else _LEAVE


def _told_apart(finding: "Finding") -> str:
    """What tells those apart at the engine that the shift does not: first the marks, for looking at them
    undoes nothing."""
    others = [each for each in finding.among if not each.marks_deg and each.cause not in FINE]
    remedies = [*dict.fromkeys(_remedy(each) for each in others)]
    turned = any(each.cause in TURNED for each in others)
    then = remedies[0] if len(remedies) == 1 else _SWEEP_AS_SAID if turned else _LOOK
    marks = next((each.marks_deg for each in finding.among if each.marks_deg), ())
    if not marks:
        return then
    belong = f"look at both marks, seen from behind: the high sides belong at {_clocks(marks)}"
    if not others:
        then = "sweep again, with more stations or another turn"
    return f"{belong}. If one stands elsewhere, set it so and sweep again; if both stand there, {then}"


def difference_words(comparison: "Comparison", unit: str) -> str:
    """How far planned and measured are apart, and what it was judged by; "" without a plan."""
    if (gap := comparison.difference) is None:
        return ""
    amount, explained = show_length(gap.amount, unit), show_length(gap.explained, unit)
    much = "no more than" if gap.within else "MORE than" if amount != explained else "JUST MORE than"
    said = f"{amount}, {much} measuring and setting explain that way ({explained})"
    fine = {each.cause for each in comparison.finding.among} <= set(FINE)
    return said if gap.within or not fine else f"{said}, but no mistake explains it better"


def remedy_noted(proof: Proof) -> str:
    """The same from the record of a proof; "" also where an older version noted it without the marks."""
    from coaxly.fitter.dowels.compare import Finding
    from coaxly.fitter.dowels.explain import Explanation

    among = [Explanation(cause, 0.0, marks) for cause, marks in proof.among if cause in _WHAT]
    if not among:
        return ""
    return remedy(Finding(proof.cause, proof.probability, tuple(among)), inside=proof.state == "inside")


def _words(explanation: "Explanation", unit: str) -> str:
    said = _WHAT[explanation.cause]
    if explanation.sizes_mm:
        said += ": the shift is that of " + " and ".join(show_length(d, unit) for d in explanation.sizes_mm)
    return said


def _remedy(explanation: "Explanation") -> str:
    if explanation.marks_deg:
        marks = _clocks(explanation.marks_deg)
        return f"set the high sides to {marks} seen from behind the engine, and sweep again"
    return _REMEDY.get(explanation.cause, "")


def _clocks(degs: tuple[float, ...]) -> str:
    return " and ".join(dict.fromkeys(clock(deg) for deg in degs))
