"""What `--json` prints: the facts as they are stored, and beside them what they come to in words.

Numbers are in mm and degrees; lengths in sentences are in the unit asked for.
"""

from typing import TYPE_CHECKING, Any

from coaxly.fitter import Result

from .dowels import explanations, options
from .dowels.holes import by_the_line, line_degrees
from .sweep.warnings import LOOKS, sentences

if TYPE_CHECKING:  # words need no arithmetic
    from coaxly.fitter.dowels.compare import Comparison, Finding
    from coaxly.fitter.dowels.pins import Pins
    from coaxly.fitter.dowels.plan import Option


def result_object(result: Result, unit: str) -> dict[str, Any]:
    """A result, with its remarks in sentences (`warnings`) and what a bad station looks like (`looks`)."""
    found = result.to_dict()
    for outlier in found["checks"]["outliers"]:
        outlier["looks"] = LOOKS[outlier["like"]]
    if result.decision.withheld:  # nobody knows it: what was computed stands in the recording
        found["decision"]["probability"] = None
    return {**found, "warnings": sentences(result, unit)}


def option_object(
    option: "Option", unit: str, pins: "Pins | None" = None, *, doubtful: bool = False
) -> dict[str, Any]:
    """Dowels to choose, with what there is to say of them (`note`), and where the holes are known how far the
    high sides are from the line through them (`from_line_deg`, clockwise, of each dowel; `from_line`).
    doubtful: the sweep hardly measured what it seems to, so nobody knows the chance."""
    found = {**option.to_dict(), "note": options.note(option, unit, doubtful=doubtful)}
    if doubtful:
        found["probability"] = None
    if pins is not None:
        highs = [dowel.deg for dowel in option.dowels]
        found |= {"from_line_deg": line_degrees(highs, pins), "from_line": by_the_line(highs, pins)}
    return found


def comparison_object(comparison: "Comparison", unit: str, left: Result | None = None) -> dict[str, Any]:
    """Planned against measured, each explanation with what it means (`words`) and what to do (`remedy`).
    left: the sweep afterwards; if it is inside there is less to do."""
    from coaxly.fitter.dowels.compare import Finding

    inside = left is not None and left.decision.state == "inside"
    return {
        **comparison.to_dict(),
        "finding": _finding_object(comparison.to_dict()["finding"], comparison.finding, unit, inside),
        "explanations": [
            _finding_object(found, Finding.of(explanation), unit, inside)
            for found, explanation in zip(
                comparison.to_dict()["explanations"], comparison.explanations, strict=True
            )
        ],
    }


def _finding_object(found: dict[str, Any], finding: "Finding", unit: str, inside: bool) -> dict[str, Any]:
    remedy = explanations.remedy(finding, inside=inside)
    return {**found, "words": explanations.words(finding, unit), "remedy": remedy}
