"""`coaxly plan FILE`: which dowels to fit and which way to turn them, or which shims under a face."""

import argparse
import math
from pathlib import Path

import numpy as np

from fitter import Result
from fitter.analysis import corrected
from fitter.body import Pins, parallel_only
from fitter.face import squareness
from fitter.plan import PairChoice, Workshop, advice, plan
from fitter.split import Setting, contributions

from .. import output
from ..errors import UsageError
from ..guide import guide_lines, guide_picture
from ..lengths import length
from ..pipeline import Pipeline, replay
from ..planning import measured_by
from ..say import face_lines, option_lines, result_lines
from ..terminal import default_glyphs

FACE_FIRST = (
    "face first, then bore: shimming the face moves the bore, so sweep the face before you trust this"
)


def run(arguments: argparse.Namespace) -> int:
    """Print the options, best first; of a face, the shims."""
    pipeline = replay(Path(arguments.file))
    result = pipeline.result()
    if pipeline.setup.feature == "face":
        return _shims(arguments, pipeline, result)
    if arguments.kit is None:
        raise UsageError("--kit is missing: give the offsets you have, such as --kit 5thou,10thou,15thou")
    workshop = workshop_of(arguments)
    limit = arguments.limit.tir if arguments.limit else None
    fitted = (0.0, 0.0)
    if arguments.fitted is not None:
        fitted = shift_of(arguments.fitted, workshop.pins)
    measured = measured_by(pipeline, result, limit, fitted)
    options = plan(measured, workshop)
    said = advice(measured, workshop, options)
    if arguments.json:
        output.json_object({"options": [option.to_dict() for option in options], "advice": said})
        return 0
    unit = arguments.unit_shown
    best = next((option for option in options if option.dowels), options[0])
    lines = [*result_lines(result, unit), ""]
    if arguments.limit:
        lines.append(f"  Limit {length(arguments.limit.tir, unit)} TIR ({arguments.limit.source})")
    lines += option_lines(options, unit)
    lines += [f"  ! {line}" for line in [*said, FACE_FIRST]]
    if options[0].dowels:
        lines += ["", "SETTING (1.)", *(f"  {line}" for line in guide_lines(best, workshop.pins, unit))]
        lines += guide_picture(best, workshop.pins, default_glyphs())
    output.text(lines)
    return 0


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
    )


def shift_of(setting: Setting, pins: Pins | None) -> tuple[float, float]:
    """The shift that dowels in place give, mm."""
    influence = pins.influence() if pins is not None else parallel_only()
    x, y = np.add(*contributions(setting, influence)).tolist()
    return x, y


def _shims(arguments: argparse.Namespace, pipeline: Pipeline, result: Result) -> int:
    radius = arguments.face_radius or pipeline.setup.face_radius_mm
    if arguments.bolts and not radius:
        raise UsageError("--bolts need the radius at which the dial ran: --face-radius 6in")
    bore = (0.0, 0.0)
    if arguments.bore is not None:
        bore = replay(Path(arguments.bore)).result().eccentricity.vector
    found = squareness(
        result,
        corrected(pipeline.setup, pipeline.fitter.stations()),
        radius,
        bolts=arguments.bolts or (),
        stock=arguments.shims or (),
        depth=arguments.depth,
        pilot=arguments.pilot,
        bore=bore,
    )
    if arguments.json:
        output.json_object({"face": found.to_dict(), "result": result.to_dict()})
    else:
        unit = arguments.unit_shown
        output.text([*result_lines(result, unit), "", *face_lines(found, unit)])
    return 0
