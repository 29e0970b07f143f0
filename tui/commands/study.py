"""`coaxly study FILE...|--job JOB...`: how well a shop measures, and what to improve first."""

import argparse
from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from pathlib import Path

from coaxly.fitter.shop.study import Repeat, Study, study

from .. import output
from ..errors import FINDING, FINE, CommandError, UsageError
from ..job.folder.journal import now
from ..job.folder.repeatability import NAME, keep
from ..job.many.learned import Reason
from ..job.many.repeats import Sweeping, of_jobs, usual_of
from ..job.recorded.bore import Bore, in_doubt
from ..job.recorded.consistency import counted_twice
from ..plain.asking import settle
from ..plain.named import job_named
from ..plain.shopjobs import bores
from ..plain.whichshop import shop_of
from ..say.shop.ledgerwords import not_counted
from ..say.shop.studywords import study_lines

ANEW = "+"


def run(arguments: argparse.Namespace) -> int:
    """Print what measuring costs; exit code 1 if a sweep does not belong with the others."""
    files = _named(arguments.files)
    sweeps = files + of_jobs([job_named(arguments, words) for words in arguments.job])
    if not sweeps:
        raise UsageError("no recordings were given: sweep one housing at least three times")
    read = list(bores(arguments)([each.path for each in sweeps]))
    for bore in read:
        _need(bore)
    whys: list[Reason] = [in_doubt(bore.result) for bore in read]
    for k in _copies(read, [k for k in range(len(files), len(read)) if not whys[k]]):
        whys[k] = "copy"
    named = [(each.name, bore.marks) for each, bore, why in zip(sweeps, read, whys, strict=True) if not why]
    settle(counted_twice(named), arguments.unit_shown, anyway=False)
    left_out = [(why, each.name) for each, why in zip(sweeps, whys, strict=True) if why]
    counted = [pair for pair, why in zip(zip(sweeps, read, strict=True), whys, strict=True) if not why]
    untold = not_counted(left_out, "sweep")
    limits = {bore.limit for _, bore in counted}
    limit = arguments.limit.tir if arguments.limit is not None else limits.pop() if len(limits) == 1 else None
    try:
        with output.busy("taking the sweeps apart"):
            found = study([_repeat(*each) for each in counted], limit)
    except ValueError as error:
        said = [str(error), *(line.strip(" !").replace("Not", "not", 1) for line in untold)]
        raise UsageError("; ".join(said)) from error
    plain = asdict(found)
    for key in ("repeatability_freedom", "reproducibility_freedom"):
        plain[key] = plain[key] if plain[key] < 1e9 else None
    plain["left_out"] = [{"sweep": name, "why": why} for why, name in left_out]
    lines = [*study_lines(found, arguments.unit_shown), *untold]
    output.answer({"study": plain}, lines, as_json=arguments.json)
    if arguments.keep:
        _keep(found, [each for each, _ in counted], arguments)
    return FINE if found.worst is None else FINDING


def _copies(read: Sequence[Bore], of_jobs: Sequence[int]) -> list[int]:
    """Which sweeps of jobs are copies of later ones, such as a sweep that was made sure of: nobody can leave
    those out."""
    latest_first = [(str(k), read[k].marks) for k in reversed(of_jobs)]
    return [int(doubt.facts["other"]) for doubt in counted_twice(latest_first)]


def _keep(found: Study, sweeps: Sequence[Sweeping], arguments: argparse.Namespace) -> None:
    """Keep it for the shop, unless a sweep does not belong. Raises UsageError or Failure."""
    shop = shop_of(arguments)
    if found.worst is not None:
        output.message(
            f"! Nothing was kept, for {found.worst.name} does not belong: find out why, leave it out"
        )
        return
    if not shop.is_dir():
        raise UsageError(f"there is no shop folder {shop} to keep it in: open a job, or give --shop DIR")
    with output.busy("looking at how readings scatter"):
        usual = usual_of(sweeps)
    kept = keep(shop, found, usual, date.fromisoformat(now()[:10]))
    output.message(
        f"Kept in {shop / NAME}: later sweeps of jobs count on it, unless --no-study is given (for its "
        "repeatability alone: --repeatability)"
    )
    if not kept.form:
        output.message(
            "! How round the housings of a family are was not kept: name jobs (--job) whose housing's family "
            "is known"
        )
    if "mountings" not in kept.of:
        output.message(
            "! What putting the dial on anew does is not in it: mount it anew between sweeps (FILE + FILE)"
        )


def _named(words: Sequence[str]) -> list[Sweeping]:
    """Recordings by name; the number of the mounting goes up at every "+"."""
    sweeps, mounting = [], 1
    for word in words:
        if word == ANEW:
            mounting += 1
        else:
            sweeps.append(Sweeping(Path(word), word, str(mounting)))
    return sweeps


def _need(bore: Bore) -> None:
    """A bore that was read. Raises CommandError with the exit code of what went wrong."""
    said = {
        "changed": f"{bore.path} was changed after it was made ({bore.what}): leave it out",
        "face": f"{bore.path} is a sweep of a face, but study needs one of a bore",
        "killed": f"a process was killed over {bore.path}: leave it out, or try again with more memory",
        "unreadable": bore.what,
    }
    if bore.state in said:
        error = CommandError(said[bore.state])
        error.exit_code = bore.exit_code
        raise error


def _repeat(sweep: Sweeping, bore: Bore) -> Repeat:
    found = bore.result["eccentricity"]
    (xx, _), (_, yy) = found["covariance"]
    x, y = found["vector"]
    return Repeat(
        housing=sweep.housing or f"{bore.job.strip().lower()}/{bore.stage.strip().lower()}",
        person=bore.operator.strip().lower(),
        mounting=sweep.mounting,
        vector=(x, y),
        u=((xx + yy) / 2.0) ** 0.5,
        sense=bore.sense,
        name=sweep.name,
    )
