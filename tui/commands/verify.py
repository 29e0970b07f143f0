"""`coaxly verify FOUND LEFT`: did the dowels do what was planned, and what next?"""

import argparse
from pathlib import Path

from coaxly.fitter import Result
from coaxly.fitter.dowels.causes import FINE as NOTHING_TO_DO
from coaxly.fitter.dowels.causes import found_mirrored
from coaxly.fitter.dowels.compare import Comparison, compare
from coaxly.fitter.dowels.plan import Option, plan, undressed
from coaxly.fitter.dowels.setting import DowelSetting

from .. import output
from ..errors import FINDING, FINE, UsageError
from ..job.folder.progress import JobState
from ..job.folder.shop import Job
from ..job.recorded.consistency import form_gone, in_doubt, journal_changed, need, of_a_pair
from ..job.recorded.pipeline import Pipeline, replay
from ..job.recorded.planning import judged_by, measured_by
from ..job.steps.jobsteps import note_proof, proved_state, sweeps_of, turned_over
from ..plain.asking import settle
from ..plain.rigs import rig_setup
from ..say.objects import comparison_object, option_object, result_object
from ..say.sweep.findings import comparison_lines, option_lines, verdict
from .injob import for_verify, job_perhaps
from .plan import in_the_hole, slips_of, workshop_of


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
    doubts = [*in_doubt(arguments.found, found), *in_doubt(arguments.left, left)]
    gone = form_gone(arguments.left, found, left)
    doubts += gone
    settle(doubts, arguments.unit_shown, anyway=arguments.anyway)
    workshop = workshop_of(arguments) if arguments.kit is not None else None
    state = JobState() if job is None else job.state()
    found = turned_over(before, found, state)
    sweeps = sweeps_of((before, after), (found, left), state.before, workshop)
    comparison = compare(sweeps, setting, arguments.dowels, arguments.kit, slips_of(arguments))
    inside, following = left.decision.state == "inside" and not gone, None
    turned = found_mirrored(each.cause for each in comparison.finding.among)
    if workshop is not None and not inside and turned != "perhaps":
        if turned == "yes" or state.mirrored == "known":
            bare = (
                undressed(measured_by(after, left), setting, workshop)
                if setting
                else measured_by(after, left)
            )
        else:
            # With the dowels out the housing sits as it was found: that sweep's vector, its covariance.
            bare = measured_by(before, found)
        following = plan(bare, workshop)
    if job is not None:
        note_proof(job, comparison, proved_state(left, doubtful=bool(gone)), left.tir.fitted)
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
        missing = "give --kit" if arguments.kit is None else "first tell these apart"
        lines.append(f"  Still not inside: {missing} for what to fit next")
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
