"""`coaxly ledger`: which family of blocks or housings is to blame for what was found."""

import argparse
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final

from coaxly.fitter.shop.changes import Change, changes
from coaxly.fitter.shop.ledger import Ledger

from .. import output
from ..entry.preferences import load_preferences
from ..errors import FINDING, FINE
from ..job.many.learned import OneShop
from ..plain.shopjobs import shop_found, taken_apart
from ..report.write import check
from ..say.shop.advice import findings
from ..say.shop.ledgerwords import figure_lines, ledger_lines, shop_lines


def run(arguments: argparse.Namespace) -> int:
    """Print what the jobs say; exit code 1 if something changed over time."""
    out = Path(arguments.out).expanduser() if arguments.out is not None else None
    check(out)
    jobs = shop_found(arguments)
    found = taken_apart(arguments, jobs)
    with output.busy("looking for changes"):
        moved = changes(jobs.found, found)
    if out is not None:
        _write(out, jobs, found, moved, arguments.unit_shown)
    told = [asdict(each) for each in findings(found, moved, arguments.unit_shown)]
    plain = {"ledger": _plain(found), "changes": [asdict(each) for each in moved], "findings": told}
    lines = [*ledger_lines(jobs.found, found, moved, arguments.unit_shown), *shop_lines(jobs)]
    output.answer({**plain, "jobs": _counted(jobs)}, lines, as_json=arguments.json)
    return FINDING if moved else FINE


def _write(path: Path, jobs: OneShop, found: Ledger, moved: Sequence[Change], unit: str) -> None:
    """The page with its pictures. Raises UsageError or Failure."""
    from ..report.ledgerpage import Told, page_of, write_page

    figures = [*figure_lines(found, moved, unit), *shop_lines(jobs)]
    write_page(page_of(Told(jobs.found, found, moved, figures), unit, load_preferences().paper), path)
    output.message(f"written: {path}")


_TOLD: Final = (
    "jobs", "groups", "mean", "mean_u95", "families", "components", "measuring", "pieces", "odd", "together",
)  # fmt: skip
_EACH: Final = ("families", "components", "pieces", "odd")
"""Of those, what holds several of a kind."""


def _plain(found: Ledger) -> dict[str, Any]:
    mean, covariance = found.population()
    plain: dict[str, Any] = {}
    for name in _TOLD:
        value = getattr(found, name)
        plain[name] = [asdict(one) for one in value] if name in _EACH else value
    for family in plain["families"]:
        if (family["freedom"] or 0.0) >= 1e9:
            family["freedom"] = None
    return {**plain, "population": {"mean": mean.tolist(), "covariance": covariance.tolist()}}


def _counted(jobs: OneShop) -> dict[str, Any]:
    left_out = [{"folder": job.folder, "why": job.left_out, "what": job.what} for job in jobs.left_out]
    return {"of_shop": jobs.of_jobs, "of_table": jobs.of_table, "twice": jobs.twice, "left_out": left_out}
