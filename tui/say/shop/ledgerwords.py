"""A shop's ledger, in sentences and figures, and which jobs it was made of."""

import math
from collections.abc import Sequence
from typing import Final

from coaxly.fitter.geometry import clock, direction
from coaxly.fitter.shop.changes import Change
from coaxly.fitter.shop.ledger import TOGETHER, Family, Found, Ledger, Piece
from coaxly.fitter.shop.reml import Component

from ...entry.lengths import measured, number, show_length
from ...job.many.learned import OneShop, Reason
from ..smallwords import EACH_WAY, capital, counted
from .advice import days_words, finding_lines, findings, named, standing_out

_MOST_NAMED: Final = 5
_WHY: Final[dict[Reason, str]] = {
    "not_swept": "not swept as found yet",
    "holes_unknown": "unlike dowels were in, and where their holes are was not said (dowels in job.toml)",
    "job_unreadable": "job.toml or journal cannot be read",
    "changed": "the recording was changed after it was made",
    "face": "the recording is of a face",
    "unreadable": "the recording cannot be read",
    "killed": "the program was killed over the recording",
    "unit": "the unit of the dial is in doubt",
    "doubted": "the sweep did not measure what it seems to: replay it",
    "copy": "the recording is a copy of another, which counts",
}
_JOBS_NAMED: Final = 3


def ledger_lines(jobs: Sequence[Found], found: Ledger, changes: Sequence[Change], unit: str) -> list[str]:
    """What to do, then the figures."""
    days = days_words(jobs)
    lines = [
        f"LEDGER of {found.jobs} jobs{', ' * bool(days)}{days}",
        "Where the bore's centre sits, seen from behind the engine.",
        "",
    ]
    lines += finding_lines(findings(found, changes, unit))
    return [*lines, "FIGURES (+- and ranges: 95 %, each by itself)", *figure_lines(found, changes, unit)]


def figure_lines(found: Ledger, changes: Sequence[Change], unit: str) -> list[str]:
    """Families, scatter, single pieces, and what cannot be told."""
    wide = max(len(_called(each)) for each in found.families)
    lines = [
        f"  {_called(each):<{wide}} {each.jobs:>5} job{'s' if each.jobs > 1 else ' '}  {_effect(each, unit)}"
        for each in found.families
    ]
    lines += [f"  {_scatter(one, unit)}" for one in found.components]
    lines.append(f"  Measuring itself scatters {show_length(found.measuring, unit)}")
    far = standing_out(found)
    lines += [f"  {_piece(piece, unit)}" for piece in far[:_MOST_NAMED]]
    return lines + [f"  ! {said}" for said in _untold(found, changes)]


def _called(family: Family) -> str:
    return capital(named(family.side, family.name))


def _effect(family: Family, unit: str) -> str:
    if family.effect is None or family.u95 is None:
        return "no other family to compare with"
    if not family.told:
        return f"no difference shows; one of {show_length(family.u95, unit)} would"
    size = measured(math.hypot(*family.effect), family.u95, unit)
    return f"{size} towards {clock(direction(*family.effect))} of the average"


def _scatter(one: Component, unit: str) -> str:
    name = "Blocks and housings together" if one.name == TOGETHER else f"Single {one.name}"
    between = f"{number(one.low, unit)} to {show_length(one.high, unit)}"
    return f"{name} scatter {show_length(one.sd, unit)} {EACH_WAY} ({between})"


def _piece(piece: Piece, unit: str) -> str:
    assert piece.u95 is not None
    size = measured(math.hypot(*piece.vector), piece.u95, unit)
    name = f"{piece.side.capitalize()} {piece.name} of {piece.family or 'no stated family'}"
    return f"{name}, {piece.met} jobs: {size} towards {clock(direction(*piece.vector))} of its family"


def _untold(found: Ledger, changes: Sequence[Change]) -> list[str]:
    said = ["an offset that all jobs share may be the blocks', the housings' or the way of measuring"]
    if changes:
        said.append("where something changed, the figures above mix what was before and since")
    if found.together:
        said.append(
            "single blocks and housings cannot be told apart: none was met twice in other company. "
            "Note serials, and sweep one housing on several blocks"
        )
    if len(found.groups) > 1:
        said.append(f"no job connects the {len(found.groups)} groups of families: each is compared by itself")
    return said


def shop_lines(jobs: OneShop) -> list[str]:
    """Where the jobs came from, if from more than one place, and which were not counted, and why."""
    lines = []
    if jobs.of_jobs and (jobs.of_table or jobs.twice):
        lines.append(f"  {jobs.of_jobs} of the jobs are the shop's, {jobs.of_table} the table's")
    if jobs.twice:
        lines.append(f"  {_some(list(jobs.twice), 'line')} of the table named jobs of the shop: counted once")
    lines += not_counted([(job.left_out, job.folder) for job in jobs.left_out], "job")
    return ["", *lines] if lines else []


def not_counted(left_out: Sequence[tuple[Reason, str]], what: str) -> list[str]:
    """What was left out, each with its reason and its name."""
    reasons: dict[Reason, list[str]] = {}
    for why, name in left_out:
        reasons.setdefault(why, []).append(name)
    return [f"  ! Not counted: {_some(names, what)}: {_WHY[why]}" for why, names in sorted(reasons.items())]


def _some(names: list[str], what: str) -> str:
    """ "2 jobs (one, two)", of a long list the first."""
    shown = ", ".join(names[:_JOBS_NAMED]) + (", ..." if len(names) > _JOBS_NAMED else "")
    return f"{counted(len(names), what)} ({shown})"
