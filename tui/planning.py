"""From a replayed or finished sweep to what the planner and the comparison need."""

from fitter import Result
from fitter.analysis import corrected
from fitter.plan import Measured, Option, plan

from .pipeline import Pipeline


def options_for(
    pipeline: Pipeline, result: Result, kit: list[float], limit: float | None = None
) -> list[Option]:
    """Dowel options for a sweep, best first. kit and limit in mm; the recording's limit by default."""
    measured = Measured.of(
        pipeline.setup,
        result,
        corrected(pipeline.setup, pipeline.fitter.stations()),
        limit if limit is not None else result.decision.limit,
    )
    return plan(measured, kit)
