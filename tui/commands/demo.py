"""`coaxly demo`: the whole job on the built-in engine."""

import argparse
import asyncio
import tempfile
from pathlib import Path
from typing import Any

from fitter import Result
from fitter.dowels.compare import Comparison
from fitter.dowels.plan import Option

from .. import output
from ..errors import FINDING, FINE, Failure, NoResult, UsageError
from ..job.rehearsal import Act, Rehearsal
from ..job.sweep import SweepRun
from ..say.findings import comparison_lines, dowels, option_lines, result_lines, verdict
from ..say.news import told
from ..say.objects import comparison_object, option_object, result_object
from ..terminal import has_screen


def run(arguments: argparse.Namespace) -> int:
    """On the screen where there is one, else in plain lines."""
    folder = _folder(arguments.keep)
    screen = has_screen() and not arguments.headless and not arguments.json
    rehearsal = Rehearsal(arguments.engine, arguments.speed or (1.0 if screen else 20.0), folder)
    if screen:
        from ..screens.app import show_rehearsal

        return show_rehearsal(rehearsal, arguments.unit_shown)
    return FINE if asyncio.run(_plain(rehearsal, arguments)).decision.state == "inside" else FINDING


def _folder(keep: str | None) -> Path:
    if keep is None:
        return Path(tempfile.mkdtemp(prefix="coaxly-demo-"))
    folder = Path(keep)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Failure(f"cannot make the folder {keep}: {error.strerror}") from error
    for name in ("found.jsonl", "left.jsonl", "job.toml"):
        if (folder / name).exists():
            raise UsageError(f"{folder / name} is already there: choose another folder, nothing was changed")
    return folder


async def _plain(rehearsal: Rehearsal, arguments: argparse.Namespace) -> Result:
    unit = arguments.unit_shown
    output.message("Built-in engine: an invented one, on a pseudo-terminal. Sweeping as found ...")
    found = await _swept(rehearsal.act("found"))
    options = rehearsal.options(found)
    chosen = options[0]
    rehearsal.set_dowels(chosen)
    rehearsal.write_job(chosen)
    output.message(f"Dowels set: {dowels(chosen, unit)}, seen from behind. Sweeping as left ...")
    left = await _swept(rehearsal.act("left"))
    comparison = rehearsal.comparison(found, left, chosen)
    assert found.result is not None and left.result is not None
    if arguments.json:
        output.json_object(_object(rehearsal, (found.result, left.result), options, comparison, unit))
        return left.result
    lines = ["AS FOUND", *result_lines(found.result, unit), "", "DOWELS", *option_lines(options, unit), ""]
    lines += [
        "AS LEFT",
        *result_lines(left.result, unit),
        "",
        "PROOF",
        *comparison_lines(comparison, unit, left.result),
    ]
    lines += ["", f"VERDICT: {verdict(left.result, unit)}", f"Recordings: {rehearsal.folder}"]
    output.text(lines)
    return left.result


def _object(
    rehearsal: Rehearsal,
    results: tuple[Result, Result],
    options: list[Option],
    comparison: Comparison,
    unit: str,
) -> dict[str, Any]:
    """The demo's one JSON object. results: as found and as left."""
    found, left = (
        {"recording": str(rehearsal.path(stage)), "result": result_object(result, unit)}
        for stage, result in zip(("found", "left"), results, strict=True)
    )
    return {
        "engine": rehearsal.seed,
        "seed": rehearsal.seed,
        "folder": str(rehearsal.folder),
        "found": found,
        "plan": {
            "options": [option_object(option, unit) for option in options],
            "chosen": option_object(options[0], unit),
        },
        "left": left,
        "verify": comparison_object(comparison, unit, results[1]),
    }


async def _swept(act: Act) -> SweepRun:
    await act.play()
    if act.run.result is None:
        raise NoResult(f"the sweep gave no result: {told(act.run.view().news)}")
    return act.run
