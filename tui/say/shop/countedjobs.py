"""Which jobs a ledger was made of, in sentences."""

from typing import Final

from ...job.many.oneshop import OneShop
from ..smallwords import counted

_WHY: Final = {
    "not_swept": "not swept as found yet",
    "holes_unknown": "unlike dowels were in, and where their holes are was not said (dowels in job.toml)",
    "job_unreadable": "job.toml or journal cannot be read",
    "changed": "the recording was changed after it was made",
    "face": "the recording is of a face",
    "unreadable": "the recording cannot be read",
    "killed": "the program was killed over the recording",
    "unit": "the unit of the dial is in doubt",
    "doubted": "the sweep did not measure what it seems to: replay it",
}
_NAMED: Final = 3


def shop_lines(jobs: OneShop) -> list[str]:
    """Where the jobs came from, if from more than one place, and which were not counted, and why."""
    lines = []
    if jobs.of_jobs and (jobs.of_table or jobs.twice):
        lines.append(f"  {jobs.of_jobs} of the jobs are the shop's, {jobs.of_table} the table's")
    if jobs.twice:
        lines.append(f"  {_some(list(jobs.twice), 'line')} of the table named jobs of the shop: counted once")
    reasons: dict[str, list[str]] = {}
    for job in jobs.left_out:
        reasons.setdefault(job.left_out, []).append(job.folder)
    lines += [
        f"  ! Not counted: {_some(names, 'job')}: {_WHY[why]}" for why, names in sorted(reasons.items())
    ]
    return ["", *lines] if lines else []


def _some(names: list[str], what: str) -> str:
    """ "2 jobs (one, two)", of a long list the first."""
    shown = ", ".join(names[:_NAMED]) + (", ..." if len(names) > _NAMED else "")
    return f"{counted(len(names), what)} ({shown})"
