"""`coaxly demo`: the whole job on the built-in engine."""

import argparse
import asyncio
from pathlib import Path
from typing import Any

from coaxly.fitter import Result
from coaxly.fitter.dowels.plan import Option

from .. import output
from ..errors import FINDING, FINE, NoResult, UsageError, doing
from ..job.demo.ownshop import OwnShop, own_shop
from ..job.demo.rehearsal import Rehearsal
from ..job.folder.shop import shop_folder
from ..job.folder.snapshot import look
from ..job.steps.proving import Pair
from ..report.write import make_report
from ..say.job.jobwords import around_lines, job_object, stopped_words
from ..say.objects import comparison_object, option_object, result_object
from ..say.sweep.findings import comparison_lines, dowels, option_lines, result_lines, verdict
from ..say.sweep.sweepwords import told
from ..terminal import has_screen, hushed


def run(arguments: argparse.Namespace) -> int:
    """On the screen where there is one, else in plain lines."""
    keep = None if arguments.keep is None else _empty(arguments.keep)
    with own_shop("coaxly-demo-", lambda shop: output.message(stopped_words(shop)), keep) as shop:
        return _run(arguments, shop)


def _run(arguments: argparse.Namespace, shop: OwnShop) -> int:
    screen = has_screen() and not arguments.headless and not arguments.json
    rehearsal = Rehearsal(arguments.engine, arguments.speed or (1.0 if screen else 20.0), shop.folder)
    if screen:
        with hushed():
            from ..screens.app import show_rehearsal

        return show_rehearsal(rehearsal, shop, arguments.unit_shown)
    result = asyncio.run(_plain(rehearsal, shop, arguments))
    return FINE if result.decision.state == "inside" else FINDING


def _empty(keep: str) -> Path:
    """The folder to keep the shop in. Raises Failure or UsageError."""
    folder = shop_folder(keep)
    with doing(f"make the folder {keep}"):
        folder.mkdir(parents=True, exist_ok=True)
        taken = any(folder.iterdir())
    if taken:
        raise UsageError(f"{folder} holds something already: choose another folder, nothing was changed")
    return folder


async def _plain(rehearsal: Rehearsal, shop: OwnShop, arguments: argparse.Namespace) -> Result:
    unit = arguments.unit_shown
    output.message("Built-in engine: an invented one, on a serial line of its own. Sweeping as found ...")
    await _swept(rehearsal, "found")
    options = rehearsal.options()
    rehearsal.set_dowels(options[0])
    output.message(f"Dowels set: {dowels(options[0], unit)}, seen from behind. Sweeping as left ...")
    await _swept(rehearsal, "left")
    proof = rehearsal.proof()
    made = make_report(look(rehearsal.job), unit)
    shop.told = True
    if arguments.json:
        output.json_object(_object(rehearsal, proof, options, made.path, unit))
        return proof.left
    lines = ["AS FOUND", *result_lines(proof.found, unit), "", "DOWELS", *option_lines(options, unit), ""]
    lines += [
        "AS LEFT",
        *result_lines(proof.left, unit),
        "",
        "PROOF",
        *comparison_lines(proof.comparison, unit, proof.left),
    ]
    lines += ["", f"VERDICT: {verdict(proof.left, unit)}", *around_lines(rehearsal.shop, made.path)]
    output.text(lines)
    return proof.left


def _object(
    rehearsal: Rehearsal, proof: Pair, options: list[Option], report: Path, unit: str
) -> dict[str, Any]:
    """The demo's one JSON object."""
    known = look(rehearsal.job)
    state = known.state
    found, left = (
        {
            "recording": str(rehearsal.folder / (sweep.file if sweep else "")),
            "result": result_object(result, unit),
        }
        for sweep, result in ((state.found, proof.found), (state.left, proof.left))
    )
    return {
        "engine": rehearsal.seed,
        "seed": rehearsal.seed,
        "shop": str(rehearsal.shop),
        "folder": str(rehearsal.folder),
        "found": found,
        "plan": {
            "options": [option_object(option, unit) for option in options],
            "chosen": option_object(options[0], unit),
        },
        "left": left,
        "verify": comparison_object(proof.comparison, unit, proof.left),
        "report": str(report),
        "job": job_object(known, unit),
    }


async def _swept(rehearsal: Rehearsal, stage: str) -> None:
    run = rehearsal.act(stage)
    await run.play()
    if not rehearsal.played(run):
        raise NoResult(f"the sweep gave no result: {told(run.view().news)}")
