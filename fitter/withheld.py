"""What forbids a verdict: one place that says so, and one that applies it.

A remark that something was not measured as it seems (`fitter.clues`, and what a recording's header says
against its readings) is a doubt while it is a warning. Somebody who made sure of it lifts it
(`Setup.sure`): it stays as a note.
"""

import dataclasses
from collections.abc import Iterable
from typing import Final

from .certainty.decision import judge
from .reading.setup import Setup
from .result import FORBIDS, Kind, Remark, Result


def withhold(result: Result) -> Result:
    """The result with no verdict that its doubts forbid."""
    decision = result.decision
    state = judge(decision.probability)
    kinds = tuple(kind for kind in doubted(result) if state != "outside" or FORBIDS[kind] == "both")
    state = "unsure" if kinds else state
    return dataclasses.replace(result, decision=dataclasses.replace(decision, state=state, withheld=kinds))


def doubted(result: Result) -> tuple[Kind, ...]:
    """The kinds of doubt that there are of a sweep, each once: nothing is fitted by it, whatever its
    verdict. Those that forbid any verdict come first, in whatever order they were found."""
    found = {each.kind for each in doubts(result)}
    return tuple(sorted(found, key=_RANK.index))


def doubts(result: Result) -> tuple[Remark, ...]:
    """The remarks that are doubts."""
    return tuple(each for each in result.remarks if each.level == "warning" and each.kind in FORBIDS)


def holding_back(result: Result) -> Kind | None:
    """What was perhaps done wrong, where the chance of that alone keeps a verdict back
    (`analysis._not_excluded`): without it this sweep would have one. None where the limit is too close."""
    inside = result.decision.probability
    perhaps = [each for each in result.remarks if "chance" in each.facts and not each.facts.get("sure")]
    if result.decision.state != "unsure" or result.decision.withheld or not perhaps:
        return None
    for each in perhaps:
        if inside > _HALF:
            inside /= 1.0 - each.facts["chance"]
        elif inside < _HALF:
            inside = 1.0 - (1.0 - inside) / (1.0 - each.facts.get("chance_both", 0.0))
    if inside != _HALF and judge(inside) == "unsure":
        return None
    return max(perhaps, key=lambda each: max(each.facts["chance"], each.facts.get("chance_both", 0.0))).kind


_HALF: Final = 0.5
"""No doubt takes a chance beyond it; what stands there was brought there by one."""


def made_sure(remarks: Iterable[Remark], setup: Setup) -> tuple[Remark, ...]:
    """The remarks, those notes that somebody made sure of."""
    sure = set(setup.sure) | (set(OF_THE_UNIT) if setup.unit_sure else set())
    return tuple(
        Remark.note(each.kind, **{**each.facts, "sure": True}) if each.kind in sure else each
        for each in remarks
    )


_RANK: Final = sorted(FORBIDS, key=lambda kind: FORBIDS[kind] != "both")

OF_THE_UNIT: Final[tuple[Kind, ...]] = ("other_unit", "too_large")
