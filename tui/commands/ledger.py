"""`coaxly ledger`: which family of blocks or housings is to blame for what was found."""

import argparse
from dataclasses import asdict
from typing import Any

from fitter.shop.changes import changes
from fitter.shop.ledger import Ledger

from .. import output
from ..errors import FINDING, FINE
from ..job.oneshop import OneShop
from ..say.shop import ledger_lines
from ..say.shopjobs import shop_lines
from .shopjobs import shop_found, taken_apart


def run(arguments: argparse.Namespace) -> int:
    """Print what the jobs say; exit code 1 if something changed over time."""
    jobs = shop_found(arguments)
    found = taken_apart(arguments, jobs)
    moved = changes(jobs.found, found)
    if arguments.json:
        output.json_object(
            {"ledger": _plain(found), "changes": [asdict(each) for each in moved], "jobs": _counted(jobs)}
        )
    else:
        output.text([*ledger_lines(found, moved, arguments.unit_shown), *shop_lines(jobs)])
    return FINDING if moved else FINE


def _plain(found: Ledger) -> dict[str, Any]:
    mean, covariance = found.population()
    freely = [{**asdict(one), "freedom": _finite(one.freedom)} for one in found.families]
    return {
        "jobs": found.jobs,
        "groups": found.groups,
        "mean": found.mean,
        "mean_u95": found.mean_u95,
        "families": freely,
        "components": [asdict(one) for one in found.components],
        "measuring": found.measuring,
        "pieces": [asdict(one) for one in found.pieces],
        "together": found.together,
        "population": {"mean": mean.tolist(), "covariance": covariance.tolist()},
    }


def _counted(jobs: OneShop) -> dict[str, Any]:
    left_out = [{"folder": job.folder, "why": job.left_out, "what": job.what} for job in jobs.left_out]
    return {"of_shop": jobs.of_jobs, "of_table": jobs.of_table, "twice": jobs.twice, "left_out": left_out}


def _finite(freedom: float | None) -> float | None:
    return freedom if freedom is not None and freedom < 1e9 else None
