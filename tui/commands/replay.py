"""`coaxly replay FILE`: a recording through the same pipeline again."""

import argparse
from pathlib import Path

from fitter import Result

from .. import output
from ..errors import FINDING, FINE, UsageError
from ..job.belonging import repeats, tampered
from ..job.pipeline import replay, together
from ..say.findings import result_lines
from ..say.objects import result_object
from .asking import settle


def run(arguments: argparse.Namespace) -> int:
    """Print the result of the recording, or show it on the screen; exit code 1 unless it is inside."""
    names: list[str] = arguments.files
    if arguments.screen:
        if len(names) > 1:
            raise UsageError("--screen shows one recording at a time")
        from ..screens.app import show_replay

        return show_replay(Path(names[0]), arguments.speed or 1.0, arguments.unit_shown)
    result = (
        replay(Path(names[0])).result()
        if len(names) == 1
        else _joined(names, arguments.unit_shown, anyway=arguments.anyway)
    )
    if arguments.json:
        output.json_object(result_object(result, arguments.unit_shown))
    else:
        output.text(result_lines(result, arguments.unit_shown))
    return FINE if result.decision.state == "inside" else FINDING


def _joined(names: list[str], unit: str, *, anyway: bool) -> Result:
    sweeps = [(name, replay(Path(name))) for name in names]
    doubts = [*repeats(sweeps), *(doubt for name in names for doubt in tampered(name))]
    settle(doubts, unit, anyway=anyway)
    return together([pipeline for _, pipeline in sweeps])
