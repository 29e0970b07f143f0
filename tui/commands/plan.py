"""`coaxly plan FILE --kit ...`: which dowels to fit and which way to turn them."""

import argparse
from pathlib import Path

from .. import output
from ..pipeline import replay
from ..planning import options_for
from ..say import option_lines, result_lines


def run(arguments: argparse.Namespace) -> int:
    """Print the options, best first."""
    pipeline = replay(Path(arguments.file))
    result = pipeline.result()
    options = options_for(pipeline, result, arguments.kit, arguments.limit)
    if arguments.json:
        output.json_object({"options": [option.to_dict() for option in options]})
    else:
        unit = arguments.unit_shown
        output.text([*result_lines(result, unit), "", *option_lines(options, unit)])
    return 0
