"""`coaxly ledger --csv FILE`: which family of blocks or housings is to blame for what was found."""

import argparse
from dataclasses import asdict
from pathlib import Path
from typing import Any

from fitter.shop.changes import changes
from fitter.shop.ledger import Ledger, ledger

from .. import output
from ..entry.foundlist import load_found
from ..errors import FINDING, FINE, UsageError
from ..say.shop import ledger_lines


def run(arguments: argparse.Namespace) -> int:
    """Print what the jobs say; exit code 1 if something changed over time."""
    jobs = load_found(Path(arguments.csv))
    found = taken_apart(arguments.csv, jobs)
    moved = changes(jobs, found)
    if arguments.json:
        output.json_object({"ledger": _plain(found), "changes": [asdict(change) for change in moved]})
    else:
        output.text(ledger_lines(found, moved, arguments.unit_shown))
    return FINDING if moved else FINE


def taken_apart(name: str, jobs: Any) -> Ledger:
    """The ledger of some jobs. Raises UsageError where they are too few."""
    try:
        return ledger(jobs)
    except ValueError as error:
        raise UsageError(f"{name}: {error}") from error


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


def _finite(freedom: float | None) -> float | None:
    return freedom if freedom is not None and freedom < 1e9 else None
