"""`coaxly plan FILE`: which dowels to fit and which way to turn them, or which shims under a face."""

import argparse
import math
from dataclasses import asdict, replace
from pathlib import Path
from typing import Final

from coaxly.fitter import Result
from coaxly.fitter.analysis import corrected
from coaxly.fitter.dowels.kit import Kit, Way
from coaxly.fitter.dowels.plan import Option, PairChoice, Workshop, advice, plan, undressed
from coaxly.fitter.dowels.seating import Slips
from coaxly.fitter.face import Mounting, squareness
from coaxly.fitter.pilot import Lie, at_pilot
from coaxly.fitter.result import Remark
from coaxly.fitter.withheld import doubts

from .. import output
from ..draw.dowelpicture import dowel_picture
from ..entry.kits import kits_at_hand
from ..entry.preferences import load_preferences
from ..errors import FINDING, FINE, UsageError
from ..job.recorded.consistency import Doubt, in_doubt, need, one_job, stage, tampered
from ..job.recorded.pipeline import Pipeline, replay
from ..job.recorded.planning import judged_by, measured_by
from ..job.steps.jobsteps import perhaps_mirrored
from ..plain.asking import settle
from ..plain.rigs import rig_setup
from ..say.dowels.guide import guide_lines
from ..say.dowels.kits import kit_lines, kit_object
from ..say.job.jobs import taken_line
from ..say.objects import option_object, result_object
from ..say.sweep.findings import SWEPT, face_lines, option_lines, result_lines
from ..say.sweep.warnings import sentence
from ..say.sweep.withheld import advised
from ..terminal import default_glyphs
from .injob import for_plan, job_perhaps, of_the_face, take

FACE_FIRST = (
    "face first, then bore: shimming the face moves the bore, so sweep the face before you trust this"
)


def run(arguments: argparse.Namespace) -> int:
    """Print the options, best first; of a face, the shims."""
    job = job_perhaps(arguments, arguments.file)
    if job is not None:
        for_plan(arguments, job)
    elif arguments.take is not None:
        raise UsageError("--take notes a choice in a job: name the job, not a recording")
    pipeline = replay(Path(arguments.file), rig_setup(arguments))
    if job is not None and pipeline.setup.feature == "face":
        of_the_face(arguments, job, pipeline.setup.face_radius_mm)
    _suits(arguments, pipeline)
    result = judged_by(pipeline, arguments.limit)
    if (feature := pipeline.setup.feature) not in ("bore", "face"):
        raise UsageError(
            f"{arguments.file} is a sweep of the {SWEPT.get(feature, 'dial')}: nothing is fitted for that"
        )
    if feature == "face":
        return _shims(arguments, pipeline, result)
    in_the_hole(arguments)
    if arguments.kit is None:
        raise UsageError("--kit is missing: give the offsets you have, such as --kit 5thou,10thou,15thou")
    mirrored = perhaps_mirrored(job) if job is not None else []
    settle([*_doubts(arguments, pipeline, result), *mirrored], arguments.unit_shown, anyway=arguments.anyway)
    unmeasured = doubts(result)
    workshop = workshop_of(arguments)
    measured = measured_by(pipeline, result)
    if arguments.fitted is not None:
        measured = undressed(measured, arguments.fitted, workshop)
    options = plan(measured, workshop)
    if job is not None and arguments.take is not None:
        take(job, options, arguments.take, arguments)
    _say(arguments, result, workshop, options, [*unmeasured, *advice(measured, workshop, options)])
    return FINDING if unmeasured and not arguments.anyway else FINE


def _which(arguments: argparse.Namespace, options: list[Option]) -> int | None:
    """The option whose setting is told, from 1: the one taken, else the best; None without dowels."""
    which = 1 if arguments.take is None else arguments.take
    return which if options[which - 1].dowels else None


def _say(
    arguments: argparse.Namespace,
    result: Result,
    workshop: Workshop,
    options: list[Option],
    said: list[Remark],
) -> None:
    """The options, and how the best of them is set, or the one that was taken; of a sweep in doubt none
    is."""
    unit, pins = arguments.unit_shown, workshop.pins
    taken = None if arguments.take is None else options[arguments.take - 1]
    if arguments.json:
        output.json_object(
            {
                "options": [
                    option_object(option, unit, pins, doubtful=bool(doubts(result))) for option in options
                ],
                "kit": kit_object(workshop.kit),
                "advice": [sentence(remark, unit) for remark in said],
                "remarks": [asdict(remark) for remark in said],
                "taken": arguments.take,
            }
        )
        return
    lines = [
        *result_lines(result, unit),
        "",
        *option_lines(options, unit, pins, doubtful=bool(doubts(result))),
    ]
    lines += [f"  {line}" for line in kit_lines(workshop.kit, unit)]
    lines += [*(f"  ! {line}" for line in advised(said, unit)), f"  note: {FACE_FIRST}"]
    if taken is not None:
        lines += ["", taken_line(arguments.take, taken, unit)]
    if (which := _which(arguments, options)) is not None and (taken is not None or not doubts(result)):
        told = options[which - 1]
        lines += ["", f"SETTING ({which}.)", *(f"  {line}" for line in guide_lines(told, pins, unit))]
        lines += dowel_picture(told, pins, default_glyphs())
    output.text(lines)


_OF_A_FACE: Final = ("bolts", "shims", "depth", "pilot", "bore", "face_radius", "register_clearance")
_OF_A_BORE: Final = ("kit", "dowels", "hole", "fitted", "pair", "hole_clearance", "rotation_limit")


def _suits(arguments: argparse.Namespace, pipeline: Pipeline) -> None:
    """Options of a bore beside a face would be left aside in silence; so would those of a face."""
    feature = pipeline.setup.feature
    other = _OF_A_BORE if feature == "face" else _OF_A_FACE
    for name in other:
        if getattr(arguments, name) is not None:
            option = "--" + name.replace("_", "-")
            raise UsageError(
                f"{arguments.file} is a sweep of a {feature}: {option} has no part in it, leave it out"
            )


def _doubts(arguments: argparse.Namespace, pipeline: Pipeline, result: Result) -> list[Doubt]:
    found = [*tampered(arguments.file)]
    # What was hardly measured is planned from for a look, and nothing is taken of it.
    found += [
        each for each in in_doubt(arguments.file, result) if each.kind == "unit" or arguments.take is not None
    ]
    if stage(pipeline) == "left" and arguments.fitted is None:
        found.append(Doubt.that("dowels_in_it", path=arguments.file))
    return found


def workshop_of(arguments: argparse.Namespace) -> Workshop:
    """Kit, dowel holes and what they allow, from the command line."""
    pair: PairChoice = arguments.pair or ("any" if arguments.dowels is not None else "parallel")
    if pair != "parallel" and arguments.dowels is None:
        raise UsageError('--pair split needs to know where the dowels are: --dowels "-5.5in,-1in 5.5in,-1in"')
    usual = Workshop(arguments.kit)
    return Workshop(
        kit=arguments.kit,
        pins=arguments.dowels,
        clearance=arguments.hole_clearance if arguments.hole_clearance is not None else usual.clearance,
        turn_limit=(math.radians(arguments.rotation_limit) if arguments.rotation_limit else usual.turn_limit),
        pair=pair,
        way=way_of(arguments),
    )


def in_the_hole(arguments: argparse.Namespace) -> None:
    """Of the kits at hand those that the dowel holes take: as was said, else as it is set. Raises KitError or
    UsageError."""
    usual = load_preferences()
    if arguments.kit is None and "kit" in usual.said:
        arguments.kit = kits_at_hand(usual.kit)
    if arguments.kit is not None:
        arguments.kit = arguments.kit.for_hole(arguments.hole)


def way_of(arguments: argparse.Namespace) -> Way:
    """How dowels are set: as was asked for, else as their kit says, else the careful way."""
    way: Way | None = arguments.setting or (arguments.kit.way if arguments.kit is not None else None)
    return way or "tight"


def slips_of(arguments: argparse.Namespace) -> Slips:
    """How well they are made and set, and what the holes allow, kit or none."""
    usual = Workshop(arguments.kit or Kit("unknown", ()))
    clearance = arguments.hole_clearance if arguments.hole_clearance is not None else usual.clearance
    return replace(usual, clearance=clearance, way=way_of(arguments)).slips


def _shims(arguments: argparse.Namespace, pipeline: Pipeline, result: Result) -> int:
    radius = arguments.face_radius or pipeline.setup.face_radius_mm
    if arguments.bolts and not radius:
        raise UsageError("--bolts need the radius at which the dial ran: --face-radius 6in")
    against = [*tampered(arguments.file), *in_doubt(arguments.file, result)]
    bore, at = (0.0, 0.0), None
    if arguments.register_clearance is not None and (arguments.bore is None or arguments.pilot is None):
        raise UsageError("--register-clearance counts at the pilot bearing: give --bore and --pilot too")
    if arguments.bore is not None:
        other = replay(Path(arguments.bore))
        need(other, arguments.bore, "bore", "--bore")
        against += [
            *tampered(arguments.bore),
            *one_job([(arguments.file, pipeline), (arguments.bore, other)]),
        ]
        of_bore = other.result()
        against += in_doubt(arguments.bore, of_bore)
        swept = of_bore.eccentricity
        bore = swept.vector
        if arguments.pilot is not None and radius:
            lie = Lie(radius, arguments.pilot, arguments.register_clearance or 0.0)
            at = at_pilot(swept, result.eccentricity, lie)
    settle(against, arguments.unit_shown, anyway=arguments.anyway)
    found = squareness(
        result,
        corrected(pipeline.setup, pipeline.fitter.stations()),
        radius,
        Mounting(
            bolts=arguments.bolts or (),
            stock=arguments.shims or (),
            depth=arguments.depth,
            pilot=arguments.pilot,
            bore=bore,
        ),
    )
    if arguments.json:
        lies = {} if at is None else {"pilot": at.to_dict()}
        shown = result_object(result, arguments.unit_shown)
        output.json_object({"face": found.to_dict(), "result": shown, **lies})
    else:
        unit = arguments.unit_shown
        output.text([*result_lines(result, unit), "", *face_lines(found, unit, at)])
    return FINE
