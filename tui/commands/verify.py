"""`coaxly verify FOUND LEFT`: did the dowels do what was planned, and what next?"""

import argparse
import math
from pathlib import Path

from fitter.compare import compare
from fitter.plan import plan
from fitter.split import Setting

from .. import output
from ..errors import UsageError
from ..pipeline import replay
from ..planning import measured_by
from ..say import comparison_lines, option_lines, verdict
from .plan import workshop_of


def run(arguments: argparse.Namespace) -> int:
    """Print the comparison of two sweeps, the verdict on the second, and the next step."""
    setting = _setting(arguments)
    found = replay(Path(arguments.found)).result()
    pipeline = replay(Path(arguments.left))
    left = pipeline.result()
    comparison = compare(found.eccentricity, left.eccentricity, setting, arguments.dowels)
    following = None
    if arguments.kit is not None and left.decision.state != "inside":
        # What the dowels in place really give is what was measured, not what was planned.
        fitted = comparison.measured.vector if setting is not None else (0.0, 0.0)
        workshop = workshop_of(arguments)
        following = plan(measured_by(pipeline, left, fitted=fitted), workshop)
    if arguments.json:
        after = None if following is None else {"options": [option.to_dict() for option in following]}
        output.json_object(
            {**comparison.to_dict(), "found": found.to_dict(), "left": left.to_dict(), "next": after}
        )
        return 0
    unit = arguments.unit_shown
    lines = [*comparison_lines(comparison, unit), f"  As left: {verdict(left, unit)}"]
    if following is not None:
        lines += ["", "NEXT, with the dowels now fitted taken out", *option_lines(following, unit)]
    elif left.decision.state != "inside":
        lines.append("  Still not inside: give --kit for what to fit next")
    output.text(lines)
    return 0


def _setting(arguments: argparse.Namespace) -> Setting | None:
    if arguments.fitted is not None:
        if arguments.offset is not None or arguments.deg is not None:
            raise UsageError("--fitted says it all: leave --offset and --deg out")
        setting: Setting = arguments.fitted
        return setting
    if (arguments.offset is None) != (arguments.deg is None):
        raise UsageError("--offset and --deg belong together: give both, or neither")
    if arguments.offset is None:
        return None
    if arguments.offset <= 0.0:
        raise UsageError("--offset must be more than nothing")
    if not math.isfinite(arguments.deg):
        raise UsageError("--deg must be an angle in degrees")
    return Setting((arguments.offset, arguments.offset), (arguments.deg, arguments.deg))
