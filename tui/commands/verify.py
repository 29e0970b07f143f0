"""`coaxly verify FOUND LEFT`: did the dowels do what was planned?"""

import argparse
from pathlib import Path

from fitter.compare import compare

from .. import output
from ..errors import UsageError
from ..pipeline import replay
from ..say import comparison_lines, verdict


def run(arguments: argparse.Namespace) -> int:
    """Print the comparison of two sweeps and the verdict on the second."""
    if (arguments.offset is None) != (arguments.deg is None):
        raise UsageError("--offset and --deg belong together: give both, or neither")
    if arguments.offset is not None and arguments.offset <= 0.0:
        raise UsageError("--offset must be more than nothing")
    found = replay(Path(arguments.found)).result()
    left = replay(Path(arguments.left)).result()
    planned = None if arguments.offset is None else (arguments.offset, arguments.deg)
    comparison = compare(found.eccentricity, left.eccentricity, planned)
    if arguments.json:
        output.json_object({**comparison.to_dict(), "found": found.to_dict(), "left": left.to_dict()})
    else:
        unit = arguments.unit_shown
        output.text([*comparison_lines(comparison, unit), f"  As left: {verdict(left, unit)}"])
    return 0
