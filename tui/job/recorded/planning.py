"""From a replayed or finished sweep to what the planner and the comparison need."""

from dataclasses import replace

from coaxly.fitter import Result
from coaxly.fitter.analysis import corrected
from coaxly.fitter.dowels.limits import Limit
from coaxly.fitter.dowels.plan import Measured, Option, Workshop, plan

from .pipeline import Pipeline


def judged_by(pipeline: Pipeline, limit: Limit | None) -> Result:
    """The result of a sweep, by another limit than that of its recording where one is given. Raises
    FitterError."""
    if limit is not None:
        # From here on there is one limit, whoever asks.
        pipeline.setup = replace(pipeline.setup, limit_mm=limit.tir, limit_source=limit.source)
        pipeline.fitter.setup = pipeline.setup
    return pipeline.result()


def measured_by(
    pipeline: Pipeline,
    result: Result,
    limit: float | None = None,
    fitted: tuple[float, float] = (0.0, 0.0),
) -> Measured:
    """What the planner needs of a sweep. limit: permitted TIR, mm, the recording's by default; fitted:
    shift, mm, that dowels in place already give."""
    stations = corrected(pipeline.setup, pipeline.fitter.stations())
    limit = limit if limit is not None else result.decision.limit
    return Measured.of(pipeline.setup, result, stations, limit, fitted)


def options_for(
    pipeline: Pipeline, result: Result, workshop: Workshop, limit: float | None = None
) -> list[Option]:
    """Dowel options for a sweep, best first."""
    return plan(measured_by(pipeline, result, limit), workshop)
