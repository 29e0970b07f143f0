"""What sweeps and replays take from a rig, and what they find out about one."""

import argparse
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any, Final

from coaxly.fitter import Result, Setup
from coaxly.fitter.dial import STEPS_MPE_MM, DialCheck
from coaxly.fitter.sag import sag_of
from coaxly.logger.recording.records import FEWEST_STATIONS

from .. import output
from ..entry.rigging import OLD_DAYS, Rigging, age_days
from ..errors import FINDING, FINE, UsageError
from ..job.folder.journal import now
from ..job.folder.rigs import RigFile, rig_named
from ..job.recorded.columns import station_rows
from ..job.recorded.pipeline import Pipeline
from ..job.sweep.schedule import Plan, step_places
from ..say.shop.rig import dial_lines, dial_object, judged, nonsense, sag_lines, sag_object
from .whichshop import shop_of

OF_THE_RIG: Final = ("sag", "steps")
"""Features that say something of the rig itself, and of no engine."""

_NOT_ON_A_BAR: Final = ("job", "sag", "bearing_clearance", "engine_tilt", "opposite", "limit", "face_radius")


def rig_file(name: str, arguments: argparse.Namespace) -> RigFile:
    """The rig of a name. Raises UsageError."""
    return rig_named(name, shop_of(arguments))


def rig_setup(arguments: argparse.Namespace) -> dict[str, Any]:
    """The keys of the setup that the rig gives; none where none was named. Raises UsageError."""
    if not arguments.rig:
        return {}
    keys = rig_file(arguments.rig, arguments).setup()
    warn_of_age(keys["rig"], keys["rig_date"])
    return keys


def warn_of_age(name: str, measured_on: str) -> None:
    """A rig that was measured long ago has been dropped since."""
    if name and (days := age_days(measured_on, now())) > OLD_DAYS:
        output.message(
            f"! rig {name} was measured {days} days ago: sweep its sag and check its dial again "
            "(--feature sag, --feature steps)"
        )


def measured(setup: Setup, rig: Rigging, arguments: argparse.Namespace) -> tuple[Setup, Plan]:
    """Setup and plan of a sweep that measures the rig itself. Raises UsageError."""
    for name in _NOT_ON_A_BAR:
        if getattr(arguments, name):
            option = "--" + name.replace("_", "-")
            raise UsageError(f"{option} has no part in --feature {setup.feature}: leave it out")
    if not rig.rig:
        raise UsageError(
            f"--feature {setup.feature} measures a rig: name it, such as --rig long-arm, to keep it"
        )
    if rig.angle != "entered":
        raise UsageError(f"--feature {setup.feature} stops at each place: leave --angle out")
    setup = replace(setup, rig=rig_file(rig.rig, arguments).name)
    if setup.feature == "sag":
        # The tip stays on its spot: there is no form.
        plan = Plan(rig.stations, closing=not rig.no_closing, auto=rig.auto)
        return replace(setup, surface="outside", hidden_form_mm=0.0), plan
    return _on_steps(setup, arguments.rounds)


def _on_steps(setup: Setup, rounds: int) -> tuple[Setup, Plan]:
    if setup.tip_angle_deg or setup.zero_deg or setup.view != "rear" or setup.sense != "cw":
        raise UsageError("gauge steps have no angle: leave --tip-angle, --zero, --view and --sense out")
    steps = sorted(setup.steps_mm)
    if len(steps) < FEWEST_STATIONS or len(set(steps)) < len(steps):
        raise UsageError("--steps is missing or short: three or more lengths, such as 0mm,0.25mm,0.5mm,1mm")
    if not 1 <= rounds <= 10:
        raise UsageError(f"--rounds is {rounds}: up and down once to ten times, 2 is usual")
    order = (*steps, *reversed(steps)) * rounds
    setup = replace(setup, steps_mm=order, steps_mpe_mm=setup.steps_mpe_mm or STEPS_MPE_MM)
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
    rig = rig_file(arguments.rig or pipeline.setup.rig, arguments)
    found = date.fromisoformat(pipeline.header.created[:10])
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
