"""What `--json` prints: the facts as they are stored, and beside them what they come to in words."""

from typing import Any

from fitter import Result

from .warnings import LOOKS, sentences


def result_object(result: Result, unit: str) -> dict[str, Any]:
    """A result, with its remarks in sentences (`warnings`) and what a bad station looks like (`looks`);
    lengths in sentences are in `unit`, all numbers in mm."""
    found = result.to_dict()
    for outlier in found["checks"]["outliers"]:
        outlier["looks"] = LOOKS[outlier["like"]]
    return {**found, "warnings": sentences(result, unit)}
