"""Why files may not belong together, in sentences."""

from typing import Final

from ...job.recorded.consistency import Doubt, DoubtKind
from ..filling import Facts, Sentence, fill
from .warnings import sentence

ANYWAY: Final = "--anyway uses the files in spite of it"


def doubt_sentence(doubt: Doubt, unit: str) -> str:
    """One doubt, lengths in `unit`."""
    return fill(_SENTENCES[doubt.kind], doubt.facts, unit)


def _stages(facts: Facts, unit: str) -> str:
    (found, one), (left, two) = facts["stages"]
    return (
        f"{found} says that it is {_stage(one)} and {left} that it is {_stage(two)}: "
        "give the sweep as found first, then the one as left"
    )


def _moved_between(facts: Facts, unit: str) -> str:
    listed = ", ".join(f"{path} {_stage(stage)}" for path, stage in facts["stages"])
    return f"the housing moved between these sweeps ({listed}): put together they mean nothing"


def _stage(stage: str) -> str:
    return f"as {stage}" if stage else "of no stage"


def _jobs(facts: Facts, unit: str) -> str:
    (path, job), (other, name) = facts["jobs"]
    return f"{path} is of job {job!r} and {other} of job {name!r}"


def _setups(facts: Facts, unit: str) -> str:
    path, other = facts["paths"]
    return f"{path} and {other} differ in {facts['key'].removesuffix('_mm').replace('_', ' ')}"


def _limits(facts: Facts, unit: str) -> str:
    (path, one), (other, two) = facts["limits_mm"]
    return fill(
        "{path} was swept for a limit of {one_mm} run-out and {other} for one of {two_mm}: --limit says "
        "which holds",
        {"path": path, "one_mm": one, "other": other, "two_mm": two},
        unit,
    )


_SENTENCES: Final[dict[DoubtKind, Sentence]] = {
    "tampered": "{path} is not as it was recorded ({what})",
    "one_sweep": "{path} and {other} are one sweep, given twice: no repeat of itself, so leave one out",
    "stages": _stages,
    "moved_between": _moved_between,
    "jobs": _jobs,
    "setups": _setups,
    "limits": _limits,
    "dowels_in_it": (
        "{path} says that it is as left: say which dowels are in it, such as --fitted 5thou@165, or "
        "--fitted none"
    ),
    "unit": "{path}: the dial's swing of {swing_mm} is hardly in its unit: make sure of the unit first",
    "unmeasured": lambda facts, unit: f"{facts['path']}: {sentence(facts['remark'], unit)}",
    "form_gone": (
        "{path}: as found the bore was out of round by {was_mm}, as left the dial moves only {is_mm} all "
        "round, and no dowel cures that: was the crank turned, is the tip on the bore? Sweep again"
    ),
    "journal": "{path} is not as it was written ({what}): put back a copy that is",
    "mirrored": (
        "{path} may be mirrored, by the last proof: look at the marks, sweep as left, turning the crank "
        "the way that was said, else clockwise seen from behind, and prove that; or "
        "take the dowels out and sweep as found"
    ),
    "journal_cut": (
        "{path} lacks lines that were in it when {files} began: cut off, or made anew: put back a copy that "
        "has them"
    ),
    "not_noted": "{path} is not the recording that the journal noted by that name: put that one back",
}
