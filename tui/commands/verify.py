"""`coaxly verify FOUND LEFT`: did the dowels do what was planned, and what next?"""

import argparse
from pathlib import Path

from coaxly.fitter import Result
from coaxly.fitter.dowels.compare import FINE as NOTHING_TO_DO
from coaxly.fitter.dowels.compare import Comparison, compare
from coaxly.fitter.dowels.plan import Option, plan
from coaxly.fitter.dowels.setting import DowelSetting

from .. import output
from ..errors import FINDING, FINE, UsageError
from ..job.belonging import journal_changed, need, of_a_pair, unit_in_doubt
from ..job.pipeline import Pipeline, replay
from ..job.planning import judged_by, measured_by
from ..job.shop import Job
from ..job.steps import bare_bore, note_proof
from ..say.findings import comparison_lines, option_lines, verdict
from ..say.objects import comparison_object, option_object, result_object
from .asking import settle
from .injob import for_verify, job_perhaps
from .plan import in_the_hole, slips_of, workshop_of
from .rigs import rig_setup


def run(arguments: argparse.Namespace) -> int:
    """Print the comparison of two sweeps, the verdict on the second, and the next step; exit code 0 only if
    it is inside and nothing else was found than what was planned."""
    job = _job(arguments)
    broken = [] if job is None else journal_changed(job.written)
    settle(broken, arguments.unit_shown, anyway=arguments.anyway)
    in_the_hole(arguments)
    given: DowelSetting | None = arguments.fitted
    setting = given if given is not None and any(given.offsets) else None
    before, after = _pair(arguments)
    found, left = judged_by(before, arguments.limit), judged_by(after, arguments.limit)
    doubts = [*unit_in_doubt(arguments.found, found), *unit_in_doubt(arguments.left, left)]
    settle(doubts, arguments.unit_shown, anyway=arguments.anyway)
    bare = found.eccentricity
    if job is not None and arguments.kit is not None:
        bare = bare_bore(before, found, job.state().before, workshop_of(arguments))
    comparison = compare(
        bare, left.eccentricity, setting, arguments.dowels, arguments.kit, slips_of(arguments)
    )
    inside = left.decision.state == "inside"
    following = None
    if arguments.kit is not None and not inside:
        # With the dowels out the housing sits as it was found: that sweep's vector, its covariance.
        following = plan(measured_by(before, found), workshop_of(arguments))
    if job is not None:
        note_proof(job, comparison, left.decision.state, left.tir.fitted)
    _say(arguments, comparison, (found, left), following)
    return FINE if inside and not broken and comparison.finding.cause in NOTHING_TO_DO else FINDING


def _say(
    arguments: argparse.Namespace,
    comparison: Comparison,
    sweeps: tuple[Result, Result],
    following: list[Option] | None,
) -> None:
    """The comparison of two sweeps, and what to fit next where that was planned."""
    (found, left), unit, pins = sweeps, arguments.unit_shown, arguments.dowels
    if arguments.json:
        options = None if following is None else [option_object(each, unit, pins) for each in following]
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
        lines += ["", "NEXT, in place of the dowels now fitted", *option_lines(following, unit, pins)]
    elif left.decision.state != "inside":
        lines.append("  Still not inside: give --kit for what to fit next")
    output.text(lines)


def _job(arguments: argparse.Namespace) -> Job | None:
    """The job that was named instead of two recordings; it knows them, and what was fitted."""
    if arguments.left is not None:
        return None
    job = job_perhaps(arguments, arguments.found)
    if job is None:
        raise UsageError(
            f"{arguments.found}: give two recordings, as found and as left, "
            "or a job of the shop ('coaxly job list')"
        )
    for_verify(arguments, job)
    return job


def _pair(arguments: argparse.Namespace) -> tuple[Pipeline, Pipeline]:
    """The two sweeps, which must be of one bore, as found and as left."""
    given = rig_setup(arguments)
    before, after = replay(Path(arguments.found), given), replay(Path(arguments.left), given)
    for path, pipeline in ((arguments.found, before), (arguments.left, after)):
        need(pipeline, path, "bore", "verify")
    given_limit = arguments.limit is not None
    doubts = of_a_pair((arguments.found, before), (arguments.left, after), limit_given=given_limit)
    settle(doubts, arguments.unit_shown, anyway=arguments.anyway)
    return before, after
