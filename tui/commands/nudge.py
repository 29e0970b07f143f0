"""`coaxly nudge JOB`: tap a housing without dowels into place while the dial is watched."""

import argparse
import asyncio
import contextlib
from dataclasses import replace
from pathlib import Path
from typing import Final

from coaxly.fitter import Result
from coaxly.logger.angle.source import Source
from coaxly.logger.errors import PortError
from coaxly.logger.profile import load

from .. import output
from ..endings import ended_by_signals
from ..entry.instruments import need_port, with_unit
from ..errors import FINDING, FINE, UsageError
from ..job.demo.ownshop import OwnShop, own_shop
from ..job.demo.rehearsal import Rehearsal
from ..job.demo.tapping import Tapped
from ..job.folder.shop import free_recording
from ..job.folder.snapshot import Snapshot
from ..job.recorded.pipeline import Pipeline
from ..job.steps.nudge import Step
from ..job.steps.nudgerun import NudgeRequest, NudgeRun, note_nudge, request_in, to_tap
from ..plain.asking import settle
from ..plain.named import job_perhaps
from ..plain.plainlines import standard_input
from ..say.job.jobwords import stopped_words
from ..say.nudgewords import CAUTION, came, instruction, live_line, nudge_object, summary
from ..say.objects import result_object
from ..say.sweep.findings import result_lines, verdict
from ..terminal import has_screen

_LOOK_S: Final = 0.5
HELP: Final = "empty line: take the reading; done: leave it as it is"


def run(arguments: argparse.Namespace) -> int:
    """On the screen where there is one, else in plain lines; exit code 0 only where it is right and held."""
    if arguments.engine is not None:
        if arguments.file is not None or arguments.port:
            raise UsageError("--engine has a job and a dial of its own: leave it out, or JOB and --port")
        return _built_in(arguments)
    if arguments.file is None:
        raise UsageError("name a job or a recording, or try it on the built-in engine: --engine 1")
    job = job_perhaps(arguments, arguments.file)
    found = to_tap(job or Path(arguments.file))
    settle(found.doubts, arguments.unit_shown, anyway=arguments.anyway)
    if not found.off:
        raise UsageError(f"{found.path}: nothing off-centre was found that could be tapped away")
    nudging = NudgeRun(_request(arguments, found.pipeline, job, found.path))
    try:
        _work(arguments, nudging)
    except PortError:
        nudging.discard_if_empty()
        raise
    if job is not None:
        note_nudge(job, found.path, nudging)
    elif nudging.nudge.step is Step.PARK:
        nudging.discard_if_empty()
    return _said(arguments, nudging, job)


def _request(
    arguments: argparse.Namespace, swept: Pipeline, job: Snapshot | None, path: Path
) -> NudgeRequest:
    # The dial of the sweep may have been switched over since.
    profile = load(arguments.profile) if arguments.profile else replace(swept.profile, unit="")
    profile = with_unit(profile, arguments.unit or profile.unit or swept.profile.unit)
    dial = Source(need_port(arguments.port, profile), profile)
    second = Source(arguments.second, profile) if arguments.second else None
    tolerance = arguments.tolerance
    if job is not None:
        asked = request_in(job, swept, (dial, second), tolerance)
        return replace(asked, operator=arguments.operator or asked.operator)
    names = ("nudge", "nudge-second")[: 2 if second else 1]
    outs = tuple(free_recording(path.parent, f"{path.stem}-{name}") for name in names)
    return NudgeRequest(
        swept=swept, dial=dial, second=second, outs=outs,
        title=swept.header.job, operator=arguments.operator, tolerance=tolerance,
    )  # fmt: skip


def _work(arguments: argparse.Namespace, nudging: NudgeRun) -> None:
    if has_screen() and not arguments.headless and not arguments.json:
        from ..screens.nudging import show_nudge

        show_nudge(nudging, nudging.play, arguments.unit_shown)
    else:
        asyncio.run(_in_plain_lines(nudging, arguments.unit_shown))


async def _in_plain_lines(nudging: NudgeRun, unit: str) -> None:
    """Operator lines from standard input; how far it is whenever that has changed."""
    output.message(f"! {CAUTION}")
    output.message(HELP)
    playing = asyncio.create_task(nudging.play())
    hand = asyncio.create_task(_operate(nudging, unit))
    watch = asyncio.create_task(watched(nudging, unit))
    with ended_by_signals(nudging.stop):
        try:
            await asyncio.wait({playing, hand}, return_when=asyncio.FIRST_COMPLETED)
            if hand.done():
                hand.result()
                nudging.stop()
            await playing
        finally:
            for task in (hand, watch):
                task.cancel()
            await asyncio.gather(hand, watch, return_exceptions=True)


async def _operate(nudging: NudgeRun, unit: str) -> None:
    lines = standard_input()
    while not nudging.finished:
        output.message(instruction(nudging.view()))
        line = await lines.get()
        if line is None or line.strip().lower() == "done":
            return
        if line.strip():
            output.message(f"not understood: {line[:40]!r}. {HELP}")
            continue
        nudging.press()
        with contextlib.suppress(asyncio.CancelledError):
            await nudging.taken()
        if words := came(nudging.view(), unit):
            output.message(words)


async def watched(nudging: NudgeRun, unit: str) -> None:
    """Say how far it is whenever the dial rests elsewhere than it did."""
    said = ""
    while not nudging.finished:
        view = nudging.view()
        line = live_line(view, unit) if view.steady else ""
        if line and line != said:
            output.message(line)
            said = line
        await asyncio.sleep(_LOOK_S)


def _said(arguments: argparse.Namespace, nudging: NudgeRun, job: Snapshot | None) -> int:
    where = f"--job {job.called} " if job is not None else ""
    lines = [*summary(nudging, arguments.unit_shown), f"Now: coaxly sweep {where}--stage left"]
    output.answer({"nudge": nudge_object(nudging)}, lines, as_json=arguments.json)
    return FINE if nudging.nudge.step is Step.DONE else FINDING


def _built_in(arguments: argparse.Namespace) -> int:
    """The built-in engine: sweep, tap, check sweep. Exit code 0 where that is inside."""
    with own_shop("coaxly-nudge-", lambda shop: output.message(stopped_words(shop))) as shop:
        return _on_engine(arguments, shop)


def _on_engine(arguments: argparse.Namespace, shop: OwnShop) -> int:
    screen = has_screen() and not arguments.headless and not arguments.json
    job = Rehearsal(arguments.engine, arguments.speed or (1.0 if screen else 20.0), shop.folder)
    if screen:
        from ..screens.nudging import show_nudge_rehearsal

        return show_nudge_rehearsal(job, shop, 2 if arguments.second else 1, arguments.unit_shown)
    nudging, result = asyncio.run(_rehearsed(job, arguments))
    unit = arguments.unit_shown
    lines = [*summary(nudging, unit), "", "CHECK SWEEP", *result_lines(result, unit)]
    lines += ["", f"VERDICT: {verdict(result, unit)}", f"Recordings: {shop.folder}"]
    left = result_object(result, unit)
    content = {"nudge": nudge_object(nudging), "left": left, "folder": str(shop.folder)}
    shop.told = True
    output.answer(content, lines, as_json=arguments.json)
    return FINE if result.decision.state == "inside" and nudging.nudge.step is Step.DONE else FINDING


async def _rehearsed(job: Rehearsal, arguments: argparse.Namespace) -> tuple[NudgeRun, Result]:
    unit = arguments.unit_shown
    output.message("Built-in engine: an invented one, on a serial line of its own. Sweeping as found ...")
    found = job.act("found")
    await found.play()
    output.message("Tapping, with bolts slack ...")
    tapped = Tapped(job, found.pipeline, dials=2 if arguments.second else 1)
    watch = asyncio.create_task(watched(tapped.run, unit))
    await tapped.play()
    watch.cancel()
    output.message("Check sweep ...")
    left = job.act("left")
    await left.play()
    assert left.result is not None
    return tapped.run, left.result
