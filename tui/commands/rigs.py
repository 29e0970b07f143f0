"""What sweeps and replays take from a rig, and what they find out about one."""

import argparse
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any, Final

from coaxly.fitter import Result, Setup
from coaxly.fitter.dial import STEPS_MPE_MM, DialCheck
from coaxly.fitter.sag import sag_of
from coaxly.logger.angle import FEWEST_STATIONS

from .. import output
from ..entry.preferences import load_preferences
from ..errors import FINDING, FINE, UsageError
from ..job.age import OLD_DAYS, age_days
from ..job.columns import station_rows
from ..job.journal import now
from ..job.pipeline import Pipeline
from ..job.rigs import RigFile, rig_named
from ..job.schedule import Plan, step_places
from ..job.shop import shop_folder
from ..say.rig import dial_lines, dial_object, judged, nonsense, sag_lines, sag_object

OF_THE_RIG: Final = ("sag", "steps")
"""Features that say something of the rig itself, and of no engine."""

_NOT_ON_A_BAR: Final = ("job", "sag", "bearing_clearance", "engine_tilt", "opposite", "limit", "face_radius")


def rig_file(arguments: argparse.Namespace) -> RigFile:
    """The rig that was named. Raises UsageError."""
    return rig_named(arguments.rig, shop_folder(arguments.shop, load_preferences().shop))


def rig_setup(arguments: argparse.Namespace) -> dict[str, Any]:
    """The keys of the setup that the rig gives; none where none was named. Raises UsageError."""
    if not arguments.rig:
        return {}
    keys = rig_file(arguments).setup()
    if (days := age_days(keys["rig_date"], now())) > OLD_DAYS:
        output.message(
            f"! rig {keys['rig']} was measured {days} days ago: sweep its sag and check its dial again "
            "(--feature sag, --feature steps)"
        )
    return keys


def measured(setup: Setup, arguments: argparse.Namespace) -> tuple[Setup, Plan]:
    """Setup and plan of a sweep that measures the rig itself. Raises UsageError."""
    for name in _NOT_ON_A_BAR:
        if getattr(arguments, name):
            option = "--" + name.replace("_", "-")
            raise UsageError(f"{option} has no part in --feature {arguments.feature}: leave it out")
    if not arguments.rig:
        raise UsageError(
            f"--feature {arguments.feature} measures a rig: name it, such as --rig long-arm, to keep it"
        )
    if arguments.angle != "entered":
        raise UsageError(f"--feature {arguments.feature} stops at each place: leave --angle out")
    setup = replace(setup, rig=rig_file(arguments).name)
    if setup.feature == "sag":
        # The tip stays on its spot: there is no form.
        plan = Plan(arguments.stations, closing=not arguments.no_closing, auto=arguments.auto)
        return replace(setup, surface="outside", hidden_form_mm=0.0), plan
    return _on_steps(setup, arguments)


def _on_steps(setup: Setup, arguments: argparse.Namespace) -> tuple[Setup, Plan]:
    if setup.tip_angle_deg or arguments.zero or arguments.view != "rear" or arguments.sense != "cw":
        raise UsageError("gauge steps have no angle: leave --tip-angle, --zero, --view and --sense out")
    steps = sorted(arguments.steps or ())
    if len(steps) < FEWEST_STATIONS or len(set(steps)) < len(steps):
        raise UsageError("--steps is missing or short: three or more lengths, such as 0mm,0.25mm,0.5mm,1mm")
    if not 1 <= arguments.rounds <= 10:
        raise UsageError(f"--rounds is {arguments.rounds}: up and down once to ten times, 2 is usual")
    order = (*steps, *reversed(steps)) * arguments.rounds
    error = STEPS_MPE_MM if arguments.steps_error is None else arguments.steps_error
    setup = replace(setup, steps_mm=order, steps_mpe_mm=error)
    return setup, Plan(len(steps), closing=False, auto=False, places=step_places(setup))


def told(pipeline: Pipeline, finding: Result | DialCheck, arguments: argparse.Namespace) -> int:
    """Print what was found out about a rig; the exit code."""
    unit, name = arguments.unit_shown, pipeline.setup.rig
    if isinstance(finding, DialCheck):
        mpe = pipeline.setup.mpe_mm
        lines, content = dial_lines(finding, mpe, unit), dial_object(finding, name)
        amiss = mpe > 0.0 and any(judged(step, mpe) != "within" for step in finding.steps)
    else:
        sag = sag_of(finding)
        lines, content, amiss = sag_lines(sag, unit), sag_object(sag, name), sag.odd
    if arguments.json:
        output.json_object({**content, "table": station_rows([pipeline])})
    else:
        output.text(lines)
    return FINDING if amiss else FINE


def kept(pipeline: Pipeline, finding: Result | DialCheck, path: Path, arguments: argparse.Namespace) -> int:
    """Print it, and keep it in the rig's file. Raises UsageError or Failure."""
    arguments.rig = arguments.rig or pipeline.setup.rig
    rig, found = rig_file(arguments), date.fromisoformat(pipeline.header.created[:10])
    if isinstance(finding, DialCheck) and (why := nonsense(finding, len(pipeline.setup.steps_mm))):
        output.message(f"not kept in {rig.path}: {why}: go through the steps again")
        return FINDING
    code = told(pipeline, finding, arguments)
    if isinstance(finding, DialCheck):
        rig.keep_dial(finding, found, path)
    else:
        sag = sag_of(finding)
        if sag.odd:
            output.message(f"not kept in {rig.path}: put that right and sweep the bar again")
            return code
        rig.keep_sag(sag, found, path)
    output.message(f"Kept in {rig.path}: sweep with --rig {rig.name}")
    return code
