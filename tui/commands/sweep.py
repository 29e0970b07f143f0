"""`coaxly sweep --port PORT`: sweep a housing with real hardware."""

import argparse
import asyncio
import re
from dataclasses import asdict
from pathlib import Path
from typing import Any

from fitter import Setup
from logger.clock import SessionClock
from logger.errors import PortError
from logger.ports import ports
from logger.profile import Profile, load
from logger.records import ENCODER, INDICATOR, OPPOSITE
from logger.session import TYPED_DWELL_S
from logger.writer import RecordingWriter

from .. import output
from ..entry.keyring import own_key
from ..errors import FINDING, FINE, UsageError
from ..job.header import new_header
from ..job.pipeline import Pipeline
from ..job.request import SweepRequest
from ..job.resume import resume
from ..job.schedule import Plan
from ..job.sweep import SweepRun
from ..say.findings import result_lines
from ..say.objects import result_object
from ..terminal import has_screen
from .asking import asked_unit
from .plainlines import sweep_in_plain_lines

_SETUP_OPTIONS = {
    "sag": "sag_mm",
    "bearing_clearance": "bearing_clearance_mm",
    "radius": "radius_mm",
    "limit": "limit_mm",
    "resolution": "resolution_mm",
    "mpe": "mpe_mm",
    "face_radius": "face_radius_mm",
    "tip_radius": "tip_radius_mm",
    "steady": "steady_mm",
    "dwell": "dwell_s",
    "hysteresis": "hysteresis_mm",
    "wander": "drift_mm",
    "repeatability": "repeatability_mm",
    "zero_sd": "zero_sd_deg",
    "lost_motion": "lost_motion_deg",
}


def run(arguments: argparse.Namespace) -> int:
    """Sweep on the screen where there is one, else in plain lines."""
    run_, sources = _resumed(arguments) if arguments.resume else _fresh(arguments)
    # Numbers are typed a line at a time, which plain lines do best.
    typed = run_.pipeline.profile.name == "typed"
    screen = has_screen() and not typed and not arguments.headless and not arguments.json
    if screen:
        from ..screens.app import show_sweep

        show_sweep(run_, sources, arguments.unit_shown)
    else:
        try:
            asyncio.run(sweep_in_plain_lines(run_, sources, arguments.unit_shown))
        except PortError:
            run_.discard_if_empty()
            raise
    output.message(f"Recording: {run_.session.writer.path}")
    if run_.result is None:
        output.message("No result: too few stations were read.")
        return FINDING
    if arguments.json:
        output.json_object(result_object(run_.result, arguments.unit_shown))
    else:
        output.text(result_lines(run_.result, arguments.unit_shown))
    return FINE if run_.result.decision.state == "inside" else FINDING


def prepare(request: SweepRequest) -> tuple[SweepRun, dict[str, tuple[str, Profile]]]:
    """A new sweep as asked for on a screen. Raises LoggerError, FitterError or UsageError."""
    from ..parser import build

    # Nothing that was typed is read as an option: the defaults come from the parser, the rest as it is.
    arguments = build().parse_args(["sweep"])
    vars(arguments).update(asdict(request))
    return _fresh(arguments)


def _fresh(arguments: argparse.Namespace) -> tuple[SweepRun, dict[str, tuple[str, Profile]]]:
    """A new sweep as asked for on the command line."""
    if not 3 <= arguments.stations <= 360:
        raise UsageError(f"--stations is {arguments.stations}: choose 3 to 360, 8 is usual")
    profile = load(arguments.profile)
    _sources(arguments, profile)  # what is missing there is asked for before the unit
    profile = _with_unit(profile, arguments)
    sources = _sources(arguments, profile)
    return _prepare(arguments, profile, sources), sources


def _with_unit(profile: Profile, arguments: argparse.Namespace) -> Profile:
    """The profile with the unit of the dial, which is asked for and never assumed. Raises UsageError."""
    unit = arguments.unit or profile.unit
    if not unit and not profile.says_unit:
        if arguments.json or arguments.headless or not has_screen():
            raise UsageError(
                f"the unit of the dial is not known: profile {profile.name} does not say it, "
                "so give --unit mm or --unit in"
            )
        unit = asked_unit()
    return Profile.from_header({**profile.to_header(), "unit": unit})


def _resumed(arguments: argparse.Namespace) -> tuple[SweepRun, dict[str, tuple[str, Profile]]]:
    """An old sweep that goes on: its file says everything but the ports."""
    run_, needed, profile = resume(Path(arguments.resume))
    if profile.name == "typed":
        return run_, {}
    given = {INDICATOR: arguments.port, ENCODER: arguments.encoder, OPPOSITE: arguments.opposite}
    for name in needed:
        if not given[name]:
            run_.session.writer.close()
            option = "--port" if name == INDICATOR else f"--{name}"
            raise UsageError(
                f"{option} is missing: the recording does not say which port the {name} is on now"
            )
    profiles = {name: decoder.profile for name, decoder in run_.pipeline.decoders.items()}
    return run_, {name: (given[name], profiles[name]) for name in needed}


def _sources(arguments: argparse.Namespace, profile: Profile) -> dict[str, tuple[str, Profile]]:
    if profile.name == "typed":
        return {}
    if not arguments.port:
        known = ", ".join(port.by_id or port.device for port in ports()) or "none found"
        raise UsageError(
            f"--port is missing. Ports here: {known}. Readings by hand: --profile typed. "
            "No hardware: coaxly demo"
        )
    sources = {INDICATOR: (arguments.port, profile)}
    if arguments.angle == "encoder":
        if not arguments.encoder:
            raise UsageError("--angle encoder needs --encoder PORT")
        sources[ENCODER] = (arguments.encoder, load(arguments.encoder_profile))
    if arguments.opposite:
        if arguments.angle != "entered":
            raise UsageError("--opposite works with stations that are stopped at: leave --angle out")
        sources[OPPOSITE] = (arguments.opposite, profile)
    return sources


def _prepare(
    arguments: argparse.Namespace, profile: Profile, sources: dict[str, tuple[str, Profile]]
) -> SweepRun:
    entered = arguments.angle == "entered"
    plan = Plan(arguments.stations, closing=entered and not arguments.no_closing, auto=arguments.auto)
    setup: dict[str, Any] = {
        "surface": arguments.surface,
        "polarity": arguments.polarity,
        "view": arguments.view,
        "sense": arguments.sense,
        "crank": arguments.crank,
        "zero_deg": arguments.zero,
        "tip_angle_deg": arguments.tip_angle,
        "closing": plan.closing,
    }
    for option, key in _SETUP_OPTIONS.items():
        if (value := getattr(arguments, option)) is not None:
            setup[key] = value.tir if option == "limit" else value
    if arguments.limit is not None and arguments.limit.source:
        setup["limit_source"] = arguments.limit.source
    if profile.name == "typed":
        setup["dwell_s"] = TYPED_DWELL_S
    Setup.from_header(setup, arguments.feature)
    angle: dict[str, Any] = {"mode": arguments.angle}
    if arguments.angle == "encoder":
        for option in ("counts_per_turn", "wrap", "ratio", "direction"):
            if (value := getattr(arguments, option)) is not None:
                angle[option] = value
    if entered:
        angle["stations"] = arguments.stations
    if ENCODER in sources:
        angle["instrument"] = sources[ENCODER][1].to_header()
    if OPPOSITE in sources:
        angle["opposite"] = sources[OPPOSITE][1].to_header()
    header = new_header(
        feature=arguments.feature,
        setup=setup,
        instrument=profile.to_header(),
        angle=angle,
        job=arguments.job,
        stage=arguments.stage,
        operator=arguments.operator,
    )
    pipeline = Pipeline(header)
    signer = own_key()
    writer = RecordingWriter(_path(arguments), header)
    writer.signer = signer
    title = f"{arguments.job or 'sweep'}, as {arguments.stage}" if arguments.stage else arguments.job
    return SweepRun(title, pipeline, writer, SessionClock(), plan)


def _path(arguments: argparse.Namespace) -> Path:
    if arguments.out:
        return Path(arguments.out)
    stem = re.sub(r"[^A-Za-z0-9_-]+", "-", f"{arguments.job or 'sweep'}-{arguments.stage}").strip("-")
    for number in range(1, 10_000):
        path = Path(f"{stem[:80] or 'sweep'}-{number}.jsonl")
        if not path.exists():
            return path
    raise UsageError("ten thousand recordings of this name are here: give --out FILE")
