"""Why files may not belong together, in sentences."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from ...entry.lengths import show_length
from ...job.recorded.consistency import Doubt, DoubtKind
from .warnings import sentence

ANYWAY: Final = "--anyway uses the files in spite of it"

_Facts = Mapping[str, Any]


def doubt_sentence(doubt: Doubt, unit: str) -> str:
    """One doubt, lengths in `unit`."""
    return _SENTENCES[doubt.kind](doubt.facts, unit)


def _tampered(facts: _Facts, unit: str) -> str:
    return f"{facts['path']} is not as it was recorded ({facts['what']})"


def _journal(facts: _Facts, unit: str) -> str:
    return f"{facts['path']} is not as it was written ({facts['what']}): put back a copy that is"


def _journal_cut(facts: _Facts, unit: str) -> str:
    return (
        f"{facts['path']} lacks lines that were in it when {', '.join(facts['files'])} began: cut off, or "
        "made anew: put back a copy that has them"
    )


def _given_twice(facts: _Facts, unit: str) -> str:
    return f"{facts['path']} was given twice: as found and as left"


def _stages(facts: _Facts, unit: str) -> str:
    (found, one), (left, two) = facts["stages"]
    return (
        f"{found} says that it is {_stage(one)} and {left} that it is {_stage(two)}: "
        "give the sweep as found first, then the one as left"
    )


def _moved_between(facts: _Facts, unit: str) -> str:
    listed = ", ".join(f"{path} {_stage(stage)}" for path, stage in facts["stages"])
    return f"the housing moved between these sweeps ({listed}): put together they mean nothing"


def _no_repeat(facts: _Facts, unit: str) -> str:
    return "a recording was given twice: it is no repeat of itself"


def _jobs(facts: _Facts, unit: str) -> str:
    (path, job), (other, name) = facts["jobs"]
    return f"{path} is of job {job!r} and {other} of job {name!r}"


def _setups(facts: _Facts, unit: str) -> str:
    path, other = facts["paths"]
    return f"{path} and {other} differ in {facts['key'].removesuffix('_mm').replace('_', ' ')}"


def _limits(facts: _Facts, unit: str) -> str:
    (path, one), (other, two) = facts["limits_mm"]
    return (
        f"{path} was swept for a limit of {show_length(one, unit)} run-out and {other} for one of "
        f"{show_length(two, unit)}: --limit says which holds"
    )


def _dowels_in_it(facts: _Facts, unit: str) -> str:
    return (
        f"{facts['path']} says that it is as left: say which dowels are in it, such as "
        "--fitted 5thou@165, or --fitted none"
    )


def _unit(facts: _Facts, unit: str) -> str:
    swing = show_length(facts["swing_mm"], unit)
    return f"{facts['path']}: the dial's swing of {swing} is hardly in its unit: make sure of the unit first"


def _mirrored(facts: _Facts, unit: str) -> str:
    return (
        f"{facts['path']} may be mirrored, by the last proof: look at the marks, sweep as left, turning the "
        "crank clockwise seen from behind, and prove that; or take the dowels out and sweep as found"
    )


def _unmeasured(facts: _Facts, unit: str) -> str:
    return f"{facts['path']}: {sentence(facts['remark'], unit)}"


def _form_gone(facts: _Facts, unit: str) -> str:
    was, now = show_length(facts["was_mm"], unit), show_length(facts["is_mm"], unit)
    return (
        f"{facts['path']}: as found the bore was out of round by {was}, as left the dial moves "
        f"only {now} all round, and no dowel cures that: was the crank turned, is the tip on the bore? "
        "Sweep again"
    )


def _stage(stage: str) -> str:
    return f"as {stage}" if stage else "of no stage"


_SENTENCES: Final[dict[DoubtKind, Callable[[_Facts, str], str]]] = {
    "tampered": _tampered,
    "given_twice": _given_twice,
    "stages": _stages,
    "moved_between": _moved_between,
    "no_repeat": _no_repeat,
    "jobs": _jobs,
    "setups": _setups,
    "limits": _limits,
    "dowels_in_it": _dowels_in_it,
    "unit": _unit,
    "unmeasured": _unmeasured,
    "form_gone": _form_gone,
    "journal": _journal,
    "mirrored": _mirrored,
    "journal_cut": _journal_cut,
    "not_noted": lambda facts, unit: (
        f"{facts['path']} is not the recording that the journal noted by that name: put that one back"
    ),
}
