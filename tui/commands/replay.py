"""`coaxly replay FILE`: a recording through the same pipeline again."""

import argparse
from pathlib import Path

from .. import output
from ..pipeline import replay
from ..say import result_lines


def run(arguments: argparse.Namespace) -> int:
    """Print the result of the recording, or show it on the screen."""
    path = Path(arguments.file)
    if arguments.screen:
        from ..app import show_replay

        return show_replay(path, arguments.speed or 1.0, arguments.unit_shown)
    result = replay(path).result()
    if arguments.json:
        output.json_object(result.to_dict())
    else:
        output.text(result_lines(result, arguments.unit_shown))
    return 0
