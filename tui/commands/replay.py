"""`coaxly replay FILE`: a recording through the same pipeline again."""

import argparse
from pathlib import Path

from .. import output
from ..errors import UsageError
from ..pipeline import replay, together
from ..say import result_lines


def run(arguments: argparse.Namespace) -> int:
    """Print the result of the recording, or show it on the screen."""
    paths = [Path(name) for name in arguments.files]
    if arguments.screen:
        if len(paths) > 1:
            raise UsageError("--screen shows one recording at a time")
        from ..app import show_replay

        return show_replay(paths[0], arguments.speed or 1.0, arguments.unit_shown)
    result = replay(paths[0]).result() if len(paths) == 1 else together([replay(path) for path in paths])
    if arguments.json:
        output.json_object(result.to_dict())
    else:
        output.text(result_lines(result, arguments.unit_shown))
    return 0
