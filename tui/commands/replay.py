"""`coaxly replay FILE`: a recording through the same pipeline again."""

import argparse
from pathlib import Path
from typing import Any

from .. import output
from ..errors import FINDING, FINE, UsageError
from ..job.recorded.columns import station_rows
from ..job.recorded.consistency import repeats, tampered
from ..job.recorded.pipeline import Pipeline, replay, together
from ..plain.asking import settle
from ..plain.rigfindings import OF_THE_RIG, rig_setup, told
from ..say.objects import result_object
from ..say.sweep.findings import result_lines
from ..terminal import hushed


def run(arguments: argparse.Namespace) -> int:
    """Print the result of the recording, or show it on the screen; exit code 1 unless it is inside."""
    names: list[str] = arguments.files
    if arguments.screen:
        for option in ("rig", "limit"):
            if getattr(arguments, option):
                raise UsageError(f"--screen shows a recording as it was made: leave --{option} out")
        if len(names) > 1:
            raise UsageError("--screen shows one recording at a time")
        _settled(arguments)
        with hushed():
            from ..screens.app import show_replay

        return show_replay(Path(names[0]), arguments.speed or 1.0, arguments.unit_shown)
    given = rig_setup(arguments)
    if arguments.limit is not None:
        given |= {"limit_mm": arguments.limit.tir, "limit_source": arguments.limit.source}
    if len(names) == 1:
        _settled(arguments)
        pipelines = [pipeline := replay(Path(names[0]), given)]
        if pipeline.setup.feature in OF_THE_RIG:
            return told(pipeline, pipeline.finding(), arguments)
        result = pipeline.result()
    else:
        pipelines = _joined(arguments, given)
        result = together(pipelines)
    content = {**result_object(result, arguments.unit_shown), "table": station_rows(pipelines)}
    output.answer(content, result_lines(result, arguments.unit_shown), as_json=arguments.json)
    return FINE if result.decision.state == "inside" else FINDING


def _settled(arguments: argparse.Namespace) -> None:
    """One that was changed is no answer to anything. Raises UsageError."""
    settle(tampered(arguments.files[0]), arguments.unit_shown, anyway=arguments.anyway)


def _joined(arguments: argparse.Namespace, given: dict[str, Any]) -> list[Pipeline]:
    """Several recordings that belong together. Raises UsageError where they do not."""
    names = arguments.files
    sweeps = [(name, replay(Path(name), given)) for name in names]
    doubts = [*repeats(sweeps), *(doubt for name in names for doubt in tampered(name))]
    settle(doubts, arguments.unit_shown, anyway=arguments.anyway)
    return [pipeline for _, pipeline in sweeps]
