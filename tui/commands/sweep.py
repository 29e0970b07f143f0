"""`coaxly sweep --port PORT`: sweep a housing with real hardware."""

import argparse
import asyncio
from dataclasses import replace
from pathlib import Path
from typing import Any

from coaxly.fitter import Setup
from coaxly.fitter.reading.setup import COMMON_SOURCE
from coaxly.logger.angle.source import Source
from coaxly.logger.clock import PaperClock
from coaxly.logger.errors import PortError
from coaxly.logger.profile import Profile, load
from coaxly.logger.recording.records import ENCODER, INDICATOR, OPPOSITE

from .. import output
from ..entry.instruments import need_port, with_unit
from ..entry.papers import load_table
from ..entry.preferences import load_preferences
from ..entry.rigging import Rigging
from ..errors import FAILURE, FINDING, FINE, UsageError
from ..job.folder.rigs import rig_known
from ..job.folder.shop import Job, is_job
from ..job.folder.snapshot import Snapshot
from ..job.steps.jobsteps import in_order, note_sweep, rig_of, said_of, setup_of
from ..job.steps.leftoff import broken_off, going_on, need_rest, port_option
from ..job.sweep.begin import TwoNumbers, begin, told
from ..job.sweep.linestate import LinkState
from ..job.sweep.news import What
from ..job.sweep.request import TYPED, SweepRequest, asked, encoder_of
from ..job.sweep.resume import resume
from ..job.sweep.run import SweepRun
from ..options.keys import given
from ..plain.asking import asked_unit
from ..plain.named import job_perhaps
from ..plain.plaindial import two_numbers
from ..plain.plainlines import sweep_in_plain_lines
from ..plain.rigfindings import OF_THE_RIG, kept, measured, rig_file, warn_of_age
from ..plain.typedlines import fed, plan_of, read_in
from ..plain.whichshop import shop_of
from ..say.objects import result_object
from ..say.sweep.features import PARTS as TURNING
from ..say.sweep.features import SWEPT
from ..say.sweep.findings import result_lines
from ..say.sweep.sweepwords import prompt
from ..terminal import has_screen, hushed, need_input
from ..voice import find_voice


def run(arguments: argparse.Namespace) -> int:
    """Sweep on the screen where there is one, else in plain lines; an old paper is read in."""
    if arguments.csv:
        return _of_paper(arguments)
    if (numbers := two_numbers(arguments)) is not None:
        return _of_two_numbers(arguments, numbers)
    need_input()
    unit = arguments.unit or ""  # as it was said, not as the rig of a job says it
    job = _job(arguments)
    voice = find_voice() if arguments.voice or load_preferences().voice else None
    if arguments.resume:
        run_ = _resumed(arguments)
    else:
        request = request_of(arguments, job)
        run_ = begin(request, PaperClock() if request.typed and fed()[0] else None)
    # The screen draws housings.
    drawn = run_.pipeline.setup.feature in ("bore", "face")
    screen = has_screen() and drawn and not arguments.headless and not arguments.json
    bare = unit if unit in ("thou", "um") else ""
    if screen:
        with hushed():
            from ..screens.app import show_sweep

        show_sweep(run_, arguments.unit_shown, voice, bare)
    else:
        try:
            asyncio.run(sweep_in_plain_lines(run_, arguments.unit_shown, bare, voice))
        except PortError:
            run_.discard_if_empty()
            raise
    if voice is not None:
        voice.close()
    return _told(run_, arguments)


def _of_paper(arguments: argparse.Namespace) -> int:
    """A table of readings that were written down long ago becomes a recording like any other."""
    _without_a_dial(arguments, "--csv takes its readings from a table")
    path, unit = Path(arguments.csv), arguments.unit or ""
    written = load_table(path, unit, load(TYPED))
    asked_for = _by_hand(arguments)
    rows = [row.placed(asked_for.setup_in_use) for row in written]
    run_ = begin(replace(asked_for, plan=plan_of(rows)), PaperClock())
    asyncio.run(read_in(run_, rows, path.name, arguments.unit_shown))
    return _told(run_, arguments)


def _of_two_numbers(arguments: argparse.Namespace, numbers: TwoNumbers) -> int:
    """What a plain dial said becomes a recording like any other."""
    _without_a_dial(arguments, "--tir and --high take the place of a dial")
    return _told(asyncio.run(told(_by_hand(arguments), numbers)), arguments)


def _without_a_dial(arguments: argparse.Namespace, why: str) -> None:
    for option in ("port", "encoder", "resume"):
        if getattr(arguments, option):
            raise UsageError(f"{why}: leave --{option} out")


def _by_hand(arguments: argparse.Namespace) -> SweepRequest:
    """A sweep whose readings were written down."""
    job = _job(arguments)
    rig = replace(_rig(arguments, job), profile=TYPED, unit="", angle="entered", opposite="")
    return request_of(arguments, job, rig)


def _told(run_: SweepRun, arguments: argparse.Namespace) -> int:
    """Note a sweep that is over and say what came of it."""
    if run_.pipeline.profile.name == TYPED and not len(run_.pipeline.fitter.stations()):
        run_.discard_if_empty()
        output.message("Nothing was typed.")
        return FINDING
    output.message(f"Recording: {run_.session.writer.path}")
    folder = run_.session.writer.path.resolve().parent
    if is_job(folder):
        note_sweep(Job(folder), run_)
    if run_.finding is not None and run_.pipeline.setup.feature in OF_THE_RIG:
        return kept(run_.pipeline, run_.finding, run_.session.writer.path, arguments)
    if run_.result is None:
        return without_result(run_)
    unit = arguments.unit_shown
    output.answer(result_object(run_.result, unit), result_lines(run_.result, unit), as_json=arguments.json)
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
        ports = {name: source.url for name, source in run_.sources.items()}
        output.message(f"Broken off: '{going_on(run_.session.writer.path, ports)}' goes on with it.")
    return FINDING


def _job(arguments: argparse.Namespace) -> Snapshot | None:
    """The job that the sweep is made for, where the shop has one of that name; else the name is only kept."""
    if not arguments.job or arguments.resume:
        return None
    job = job_perhaps(arguments, arguments.job)
    if job is not None:
        _may_sweep(arguments, job, arguments.feature or "bore")
    elif (shop := shop_of(arguments)).is_dir():
        output.message(f"no job {arguments.job!r} in {shop}: the recording only bears the name")
    return job


def _may_sweep(arguments: argparse.Namespace, job: Snapshot, feature: str) -> None:
    """Whether this sweep is one of the job's now, and what else is to be said. Raises UsageError."""
    state, stage = job.state, arguments.stage
    if arguments.out:
        raise UsageError(
            f"{arguments.job!r} is a job of the shop, which names its recordings: leave --out out"
        )
    need_rest(job)
    in_order(job, stage, feature)
    if state.closed:
        output.message(f"! {job.title} was closed: this sweep opens it again")
    if feature == "bore" and state.feature == "face" and stage == state.next[6:]:
        output.message(
            f"! {job.title}: the face comes first, for shimming it moves the bore (--feature face)"
        )
    for old in broken_off(job, stage, feature):
        output.message(f"! {old.name} was broken off: '{going_on(old)}' goes on with it instead")


def _rig(arguments: argparse.Namespace, job: Snapshot | None) -> Rigging:
    """What options say, and of the rest what the job says. Raises UsageError."""
    rig = Rigging() if job is None else rig_of(job)
    return rig.over(given(arguments, Rigging), {})


def request_of(
    arguments: argparse.Namespace, job: Snapshot | None = None, rig: Rigging | None = None
) -> SweepRequest:
    """What the command line asks for. Raises LoggerError, FitterError or UsageError in words."""
    rig = rig or _rig(arguments, job)
    profile = load(rig.profile)
    # What is missing of the ports is asked for before the unit.
    port = need_port(rig.port, profile)
    encoder_of(rig, profile)
    setup = _setup(arguments, job, rig)
    dial = Source(port, with_unit(profile, rig.unit or _unit(profile, arguments)))
    out = Path(arguments.out) if arguments.out else None
    if setup.feature in OF_THE_RIG:
        setup, plan = measured(setup, rig, arguments)
        out = out or rig_file(rig.rig, arguments).free_recording(setup.feature)
        return asked(rig, dial, setup, plan=plan, stage="", operator=arguments.operator, out=out)
    words: dict[str, Any] = {"job": arguments.job, "stage": arguments.stage, "out": out}
    if job is not None:
        words = said_of(job, arguments.stage, setup.feature)
    if arguments.operator:
        words["operator"] = arguments.operator
    return asked(rig, dial, setup, **words)


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


def _setup(arguments: argparse.Namespace, job: Snapshot | None, rig: Rigging) -> Setup:
    """What was said, and of the rest what the job and the rig say."""
    said, feature = given(arguments, Setup), arguments.feature or "bore"
    if feature in OF_THE_RIG:
        return Setup.from_header({**rig.setup, **said}, feature)
    for name in ("steps", "steps_error"):
        if getattr(arguments, name) is not None:
            raise UsageError(f"--{name.replace('_', '-')} is for --feature steps: leave it out")
    if job is not None:
        setup = setup_of(job, feature, rig, said)
    else:
        setup = Setup.from_header(rig_known(rig, shop_of(arguments), said), feature)
    if feature in TURNING and setup.limit_source == COMMON_SOURCE:
        raise UsageError(f"--limit is missing: what a {SWEPT[feature]} may run out by is in the maker's data")
    warn_of_age(setup.rig, setup.rig_date)
    return setup


def _resumed(arguments: argparse.Namespace) -> SweepRun:
    """An old sweep that goes on: its file says everything but the ports."""
    run_, needed, profile = resume(Path(arguments.resume), paper=fed()[0])
    if profile.name == TYPED:
        return run_
    given = {INDICATOR: arguments.port, ENCODER: arguments.encoder, OPPOSITE: arguments.opposite}
    for name in needed:
        if not given[name]:
            run_.session.writer.close()
            raise UsageError(
                f"{port_option(name)} is missing: the recording does not say which port the {name} is on now"
            )
    run_.sources = {name: Source(given[name], run_.pipeline.decoders[name].profile) for name in needed}
    return run_
