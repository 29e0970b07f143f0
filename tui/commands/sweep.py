"""`coaxly sweep --port PORT`: sweep a housing with real hardware."""

import argparse
import asyncio
import shlex
from dataclasses import replace
from pathlib import Path
from typing import Any

from coaxly.fitter import Setup
from coaxly.logger.angle import FEWEST_STATIONS, MOST_STATIONS, Source
from coaxly.logger.clock import PaperClock
from coaxly.logger.encoder import EncoderScale
from coaxly.logger.errors import PortError
from coaxly.logger.profile import Profile, load
from coaxly.logger.records import ENCODER, INDICATOR, OPPOSITE

from .. import output
from ..entry.instruments import need_port, with_unit
from ..entry.papers import load_table
from ..entry.preferences import load_preferences
from ..errors import FAILURE, FINDING, FINE, UsageError
from ..job.begin import begin
from ..job.line import LinkState
from ..job.news import What
from ..job.repeatability import with_kept
from ..job.request import TYPED, SweepRequest
from ..job.resume import resume
from ..job.schedule import Plan
from ..job.sweep import SweepRun
from ..parser import build
from ..say.findings import SWEPT, result_lines
from ..say.objects import result_object
from ..say.prompts import prompt
from ..say.warnings import PARTS as TURNING
from ..terminal import has_screen, need_input
from ..voice import find_voice
from .asking import asked_unit
from .injob import for_sweep, job_perhaps, note_sweep, shop_of
from .paperlines import plan_of, read_in
from .plainlines import sweep_in_plain_lines
from .rigs import OF_THE_RIG, kept, measured, rig_file, rig_setup
from .typedlines import fed

_SETUP_OPTIONS = {
    "surface": "surface",
    "polarity": "polarity",
    "view": "view",
    "sense": "sense",
    "crank": "crank",
    "zero": "zero_deg",
    "tip_angle": "tip_angle_deg",
    "sag": "sag_mm",
    "bearing_clearance": "bearing_clearance_mm",
    "engine_tilt": "engine_tilt_deg",
    "radius": "radius_mm",
    "resolution": "resolution_mm",
    "mpe": "mpe_mm",
    "face_radius": "face_radius_mm",
    "tip_radius": "tip_radius_mm",
    "steady": "steady_mm",
    "unit_sure": "unit_sure",
    "dwell": "dwell_s",
    "hysteresis": "hysteresis_mm",
    "wander": "drift_mm",
    "repeatability": "repeatability_mm",
    "zero_sd": "zero_sd_deg",
    "lost_motion": "lost_motion_deg",
    "delay": "delay_s",
    "delay_sd": "delay_sd_s",
}


def run(arguments: argparse.Namespace) -> int:
    """Sweep on the screen where there is one, else in plain lines; an old paper is read in."""
    if arguments.csv:
        return _of_paper(arguments)
    need_input()
    unit = arguments.unit or ""  # as it was said, not as the rig of a job says it
    _into_job(arguments)
    voice = find_voice() if arguments.voice or load_preferences().voice else None
    run_, sources = _resumed(arguments) if arguments.resume else _begun(arguments)
    # The screen draws housings.
    drawn = run_.pipeline.setup.feature in ("bore", "face")
    screen = has_screen() and drawn and not arguments.headless and not arguments.json
    bare = unit if unit in ("thou", "um") else ""
    if screen:
        from ..screens.app import show_sweep

        show_sweep(run_, sources, arguments.unit_shown, voice, bare)
    else:
        try:
            asyncio.run(sweep_in_plain_lines(run_, sources, arguments.unit_shown, bare, voice))
        except PortError:
            run_.discard_if_empty()
            raise
    if voice is not None:
        voice.close()
    return _told(run_, arguments)


def _begun(arguments: argparse.Namespace) -> tuple[SweepRun, dict[str, Source]]:
    request = request_of(arguments)
    return begin(request, PaperClock() if request.typed and fed()[0] else None)


def _of_paper(arguments: argparse.Namespace) -> int:
    """A table of readings that were written down long ago becomes a recording like any other."""
    for given in ("port", "encoder", "resume"):
        if getattr(arguments, given):
            raise UsageError(f"--csv takes its readings from a table: leave --{given} out")
    path, unit = Path(arguments.csv), arguments.unit or ""
    rows = load_table(path, unit, load(TYPED))
    _into_job(arguments)
    arguments.profile, arguments.unit, arguments.angle, arguments.opposite = TYPED, None, "entered", None
    run_, _ = begin(replace(request_of(arguments), plan=plan_of(rows)), PaperClock())
    asyncio.run(read_in(run_, rows, path.name, arguments.unit_shown))
    return _told(run_, arguments)


def _told(run_: SweepRun, arguments: argparse.Namespace) -> int:
    """Note a sweep that is over and say what came of it."""
    if run_.pipeline.profile.name == TYPED and not len(run_.pipeline.fitter.stations()):
        run_.discard_if_empty()
        output.message("Nothing was typed.")
        return FINDING
    output.message(f"Recording: {run_.session.writer.path}")
    note_sweep(run_)
    if run_.finding is not None and run_.pipeline.setup.feature in OF_THE_RIG:
        return kept(run_.pipeline, run_.finding, run_.session.writer.path, arguments)
    if run_.result is None:
        return without_result(run_)
    if arguments.json:
        output.json_object(result_object(run_.result, arguments.unit_shown))
    else:
        output.text(result_lines(run_.result, arguments.unit_shown))
    return FINE if run_.result.decision.state == "inside" else FINDING


def without_result(run_: SweepRun) -> int:
    """Say why a sweep has none; the exit code tells whether the hardware is to blame."""
    view = run_.view()
    if view.link is LinkState.MUTE:
        output.message("No result: no reading ever came from the dial. Is it on, and set to send?")
        return FAILURE
    if view.link is LinkState.GARBLED:
        output.message("No result: what came was no reading. 'coaxly listen PORT' finds out why.")
    elif view.link is LinkState.COMPLAINS:
        output.message(f"No result: {prompt(view.task)}.")
    elif view.news is not None and view.news.what is What.FAILED:
        output.message("No result: too few stations were read.")
    else:
        path = shlex.quote(str(run_.session.writer.path))
        output.message(f"Broken off: 'coaxly sweep --resume {path}' goes on with it.")
    return FINDING


def _into_job(arguments: argparse.Namespace) -> None:
    """Where the shop has a job of that name, the sweep is made for it; else the name is only kept."""
    if not arguments.job or arguments.resume:
        return
    job = job_perhaps(arguments, arguments.job)
    if job is not None:
        parser = build()
        for_sweep(arguments, job, parser.parse_args(["sweep"]), parser.parse_args)
    elif (shop := shop_of(arguments)).is_dir():
        output.message(f"no job {arguments.job!r} in {shop}: the recording only bears the name")


def request_of(arguments: argparse.Namespace) -> SweepRequest:
    """What the command line asks for. Raises LoggerError, FitterError or UsageError in words."""
    if not FEWEST_STATIONS <= arguments.stations <= MOST_STATIONS:
        raise UsageError(f"--stations is {arguments.stations}: choose 3 to 360, 8 is usual")
    profile = load(arguments.profile)
    # What is missing of the ports is asked for before the unit.
    port, encoder = need_port(arguments.port, profile), _encoder(arguments, profile)
    if profile.name != TYPED and arguments.opposite and arguments.angle != "entered":
        raise UsageError("--opposite works with stations that are stopped at: leave --angle out")
    dial = Source(port, with_unit(profile, arguments.unit or _unit(profile, arguments)))
    plan = Plan(arguments.stations, closing=not arguments.no_closing, auto=arguments.auto)
    of_rig = arguments.feature in OF_THE_RIG
    setup = _setup(arguments, {} if of_rig else rig_setup(arguments))
    out = Path(arguments.out) if arguments.out else None
    if of_rig:
        setup, plan = measured(setup, arguments)
        out = out or rig_file(arguments).free_recording(arguments.feature)
    return SweepRequest(
        dial=dial,
        opposite=Source(arguments.opposite, dial.profile) if arguments.opposite and port else None,
        encoder=encoder,
        mode=arguments.angle,
        scale=_scale(arguments),
        plan=plan,
        setup=setup,
        job=arguments.job,
        stage="" if of_rig else arguments.stage,
        operator=arguments.operator,
        out=out,
    )


def _unit(profile: Profile, arguments: argparse.Namespace) -> str:
    """The unit of a dial where it was not given: asked for, never assumed. Raises UsageError."""
    if profile.unit or profile.says_unit:
        return profile.unit
    if arguments.json or arguments.headless or not has_screen():
        raise UsageError(
            f"the unit of the dial is not known: profile {profile.name} does not say it, "
            "so give --unit mm or --unit in"
        )
    return asked_unit()


def _encoder(arguments: argparse.Namespace, profile: Profile) -> Source | None:
    if arguments.angle != "encoder" or profile.name == TYPED:
        return None
    if not arguments.encoder:
        raise UsageError("--angle encoder needs --encoder PORT")
    return Source(arguments.encoder, load(arguments.encoder_profile))


def _scale(arguments: argparse.Namespace) -> EncoderScale:
    options = ("counts_per_turn", "wrap", "ratio", "direction")
    given = {option: getattr(arguments, option) for option in options}
    return EncoderScale.from_header({key: value for key, value in given.items() if value is not None})


def _setup(arguments: argparse.Namespace, rig: dict[str, Any]) -> Setup:
    """What was said, and of the rest what the rig says."""
    setup = dict(rig)
    for option, key in _SETUP_OPTIONS.items():
        if (value := getattr(arguments, option)) is not None:
            setup[key] = value
    if arguments.sag is not None:
        setup.pop("sag_sd_mm", None)  # that of another sag
    if arguments.feature in TURNING and arguments.limit is None:
        raise UsageError(
            f"--limit is missing: what a {SWEPT[arguments.feature]} may run out by is in the maker's data"
        )
    if arguments.limit is not None:
        setup |= {"limit_mm": arguments.limit.tir, "limit_source": arguments.limit.source}
    # What the shop's own sweeps have shown, where they are made for one of its jobs.
    of_shop: Path | None = getattr(arguments, "of_shop", None)
    if of_shop is not None and arguments.feature == "bore":
        setup = with_kept(setup, of_shop)
    return Setup.from_header(setup, arguments.feature)


def _resumed(arguments: argparse.Namespace) -> tuple[SweepRun, dict[str, Source]]:
    """An old sweep that goes on: its file says everything but the ports."""
    run_, needed, profile = resume(Path(arguments.resume), paper=fed()[0])
    if profile.name == TYPED:
        return run_, {}
    given = {INDICATOR: arguments.port, ENCODER: arguments.encoder, OPPOSITE: arguments.opposite}
    for name in needed:
        if not given[name]:
            run_.session.writer.close()
            option = "--port" if name == INDICATOR else f"--{name}"
            raise UsageError(
                f"{option} is missing: the recording does not say which port the {name} is on now"
            )
    return run_, {name: Source(given[name], run_.pipeline.decoders[name].profile) for name in needed}
