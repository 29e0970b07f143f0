"""`coaxly verify FOUND LEFT`: did the dowels do what was planned, and what next?"""

import argparse
from pathlib import Path
from typing import Any

from coaxly.fitter.dowels.causes import FINE as NOTHING_TO_DO
from coaxly.fitter.dowels.plan import Option

from .. import output
from ..errors import FINDING, FINE, UsageError
from ..job.folder.shop import asked_for
from ..job.folder.snapshot import Snapshot
from ..job.steps.proving import Pair, following, note_proof, pair_of
from ..plain.asking import settle
from ..plain.named import job_perhaps, say_limit, wish_of
from ..plain.whichshop import shop_of
from ..say.dowels.optiontable import is_in
from ..say.job.proofwords import IN_DOUBT, SUPPOSED, TOO_CLOSE
from ..say.objects import comparison_object, option_object, result_object
from ..say.sweep.findings import comparison_lines, option_lines, shift_lines, verdict


def run(arguments: argparse.Namespace) -> int:
    """Print the comparison of two sweeps, the verdict on the second, and the next step; exit code 0 only if
    it is inside and nothing else was found than what was planned."""
    known = _job(arguments)
    wish = wish_of(arguments, known)
    pair = pair_of(known or (Path(arguments.found), Path(arguments.left)), wish)
    say_limit(pair.ruling, known, arguments.unit_shown)
    settle(pair.doubts, arguments.unit_shown, anyway=arguments.anyway)
    if pair.unmeasured:
        return _in_doubt(arguments, pair)
    options = following(pair)
    if pair.supposed:
        output.message(f"! {SUPPOSED}")
    elif known is not None:
        note_proof(pair)
    _say(arguments, pair, options)
    broken = any(doubt.kind == "journal" for doubt in pair.doubts)
    as_planned = pair.comparison.finding.cause in NOTHING_TO_DO
    return FINE if pair.proved == "inside" and not broken and as_planned else FINDING


def _say(arguments: argparse.Namespace, pair: Pair, following: list[Option] | None) -> None:
    """The comparison of two sweeps, and what to fit next where that was planned."""
    found, left, comparison = pair.found, pair.left, pair.comparison
    unit, wish = arguments.unit_shown, pair.wish
    if arguments.json:
        options = None if following is None else [option_object(each, unit, wish.pins) for each in following]
        output.json_object(
            {
                **comparison_object(comparison, unit, left),
                "found": result_object(found, unit),
                "left": result_object(left, unit),
                "next": None if options is None else {"options": options},
            }
        )
        return
    lines = [*comparison_lines(comparison, unit, left), f"  As left: {verdict(left, unit)}"]
    if following is not None:
        lines += ["", "NEXT, in place of the dowels now fitted", *option_lines(following, unit, wish.pins)]
        if following and is_in(following[0], pair.fitted):
            lines.append("  ! 1. is what is in now: nothing of this kit brings it nearer")
    elif pair.proved == "unsure":
        lines.append(f"  {TOO_CLOSE}")
    elif left.decision.state != "inside":
        missing = "give --kit" if wish.kit is None else "first tell these apart"
        lines.append(f"  Still not inside: {missing} for what to fit next")
    output.text(lines)


def _in_doubt(arguments: argparse.Namespace, pair: Pair) -> int:
    """What both came to, and that nothing is proved by them."""
    unit, comparison = arguments.unit_shown, pair.comparison
    came = {"found": pair.found, "left": pair.left}
    nothing: dict[str, Any] = {"finding": None, "explanations": [], "next": None}
    results = {stage: result_object(result, unit) for stage, result in came.items()}
    verdicts = (f"  As {stage}: {verdict(result, unit)}" for stage, result in came.items())
    lines = [*shift_lines(comparison, unit), *verdicts, f"  {IN_DOUBT}"]
    output.answer({**comparison.to_dict(), **nothing, **results}, lines, as_json=arguments.json)
    return FINDING


def _job(arguments: argparse.Namespace) -> Snapshot | None:
    """The job that was named instead of two recordings; it knows them, and what was fitted."""
    if arguments.left is not None:
        return None
    known = job_perhaps(arguments, arguments.found)
    if known is None:
        raise UsageError(
            f"{arguments.found}: give two recordings, as found and as left, "
            f"or a job of the shop ('coaxly job list{asked_for(shop_of(arguments))}')"
        )
    return known
