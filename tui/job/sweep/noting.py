"""What an instrument says of itself (hold, over range) goes into the recording each time, and is shown to the
operator once.
"""

from collections.abc import Callable

from coaxly.logger.readings import Fault

from ..recorded.pipeline import Pipeline
from .keeper import Keeper
from .linestate import LineState
from .news import News, What


def noting(keeper: Keeper, lines: LineState, pipeline: Pipeline) -> Callable[[Fault], None]:
    """What takes the faults of a pipeline."""

    def noted(fault: Fault) -> None:
        keeper.noted(fault)
        if fault.kind == "rezeroed" and not pipeline.fitter.samples:
            return  # a dial is set to zero before it is swept
        if fault.kind and lines.watch.says(fault):
            keeper.say(News(What.SAYS, ports=(fault.port,), says=fault.kind))

    return noted
