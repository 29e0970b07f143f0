"""What a report says in sentences: to a customer in plain words, to the shop in those of the trade."""

from collections.abc import Sequence
from typing import Final

from coaxly.fitter import Result
from coaxly.fitter.result import Decision

from ...entry.lengths import half_width, number, show_length
from ..sweep.features import SWEPT
from ..sweep.findings import state_words
from ..sweep.noverdict import state_of, withheld_words

_SEEN: Final = "Clock positions are seen from behind the engine, 12 o'clock up."
_RUN_OUT: Final = {
    "bore": "Run-out is twice the distance by which the centre of the housing stands off the axis of the "
    "crankshaft.",
    "face": "Run-out of the face is by how much it stands nearer on its high side than opposite.",
}
HOLDS: Final = "95 times in 100 the truth lies within the figure given after ±."
_LEGEND: Final = {
    "bore": "To one scale. Cross: the crankshaft's axis. Dot: the housing's centre; it lies within the shade "
    "round it 95 times in 100. Dashed: the limit, inside which the centre must lie.",
    "face": "To one scale. Cross: square to the crankshaft. Dot: towards the high side, by half the run-out; "
    "it lies within the shade round it 95 times in 100. Dashed: the limit, inside which it must lie.",
}
TOO_MANY: Final = "read in passing: the plot shows every place"
PROVES: Final = {
    "unsealed": "nothing: written by hand, or its seals are gone",
    "unfinished": "every byte up to its last seal is as it was written; not whether its end was cut off",
    "finished": "every byte is as it was written, nothing is missing; not who wrote it: seals need no secret",
    "signed": "as finished, and nobody without that key changed it since; not that its holder was honest",
}
"""What each level of sealing proves, and what not."""
STANDING: Final = (
    "These figures hold for the housing, dowels and shims as they were when it was swept: sweep again "
    "whenever the housing has been off.",
    "Torques and limits: the maker's service data and a qualified mechanic decide; this only measures.",
)
OPENS: Final = "It opens in the browser. Space goes back to the jobs."


def handed_lines(*, browser: bool, pdf: bool = False) -> list[str]:
    """What it holds, and what to do with it. pdf: it is one."""
    look = "O opens it in the browser." if browser else "Open it in any browser; it needs no network."
    return [
        look,
        "Page 1 is the customer's: before and after, what was fitted, the limit and whose it is.",
        "Page 2 is the shop's: stations, uncertainty, checks, proof, journal and seals.",
        "Print it from there." if pdf else "Print it from there; P writes it as PDF too.",
    ]


def legend(drawn: str, told: Sequence[str]) -> str:
    """What the pictures show. drawn: "bore" or "face"; told: those of which run-outs are told."""
    return " ".join((_LEGEND[drawn], *(_RUN_OUT[feature] for feature in told), _SEEN))


def verdict_of_all(bore: Decision | None, face: Decision | None) -> tuple[str, str]:
    """What the whole housing comes to: "inside", "outside", "unsure" or "withheld", and the words for it."""
    both = {"bore": bore, "face": face}
    known = {name: decision for name, decision in both.items() if decision is not None}
    states = [state_of(decision) for decision in known.values()]
    worst = next(state for state in ("withheld", "outside", "unsure", "inside") if state in states)
    if len(set(states)) == 1:
        words = list(dict.fromkeys(state_words(decision) for decision in known.values()))
        return worst, " and ".join(words) if len(
            known
        ) == 1 or worst == "withheld" else f"{words[0]}, bore and face"
    return worst, ", ".join(f"{name} {short_verdict(decision)}" for name, decision in known.items())


def short_verdict(decision: Decision) -> str:
    """The state in a word or two."""
    return state_words(decision).removesuffix(" the limit")


def run_out_words(result: Result, unit: str) -> str:
    """A run-out with its uncertainty: "13.3 ± 0.4 thou"."""
    return f"{number(result.tir.fitted, unit)} ± {half_width(2.0 * result.eccentricity.u95_amount, unit)}"


def both_run_outs(what: str, found: Result | None, left: Result | None, unit: str) -> str:
    """Before and after in one plain sentence; of a sweep whose verdict is withheld no figure is told. what:
    "bore" or "face"."""
    known = [each for each in (found, left) if each is not None]
    if any(each.decision.withheld for each in known):
        moments = ("before the work", "after it") if len(known) == 2 else ("",)
        told = (
            f"{moment} {_or_not_known(each, unit)}".strip()
            for moment, each in zip(moments, known, strict=True)
        )
        return f"The run-out of the {what}: {'; '.join(told)}."
    if found is not None and left is not None:
        return (
            f"The run-out of the {what} was {run_out_words(found, unit)} before the work and is "
            f"{run_out_words(left, unit)} after it."
        )
    only = left or found
    assert only is not None
    when = "as it came in" if left is None else "as it is now"
    return f"The run-out of the {what}, {when}, is {run_out_words(only, unit)}."


def _or_not_known(result: Result, unit: str) -> str:
    if result.decision.withheld:
        return f"not known ({withheld_words(result.decision.withheld)})"
    return run_out_words(result, unit)


def part_run_out(result: Result, unit: str) -> str:
    """Of a part that turns with the crank: its run-out and what its own limit makes of it."""
    verdict, limit = short_verdict(result.decision), show_length(result.decision.limit, unit)
    if result.decision.withheld:
        return f"The run-out of the {SWEPT[result.feature]} is not known: {verdict}."
    return (
        f"The {SWEPT[result.feature]} runs out by {run_out_words(result, unit)}: {verdict} "
        f"by its limit of {limit}."
    )


def limit_words(limits: Sequence[Decision], unit: str) -> str:
    """The limit and whose it is."""
    told = dict.fromkeys(_limit(decision, unit) for decision in limits)
    return "; ".join(told)


def _limit(decision: Decision, unit: str) -> str:
    whose = decision.source or "stated for this job, without a source"
    return f"{show_length(decision.limit, unit)} run-out (TIR): {whose}"
