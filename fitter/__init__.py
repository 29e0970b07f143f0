"""From samples to an estimate, a decision and a choice of dowels.

Pure: numpy and scipy only, no files, ports, clocks or screens. The names below are loaded at their first
use (PEP 562), so that a caller who needs an error or a unit does not pay for numpy.
"""

from importlib import import_module
from typing import TYPE_CHECKING

from .errors import FitterError, SetupError, TooFewStations

if TYPE_CHECKING:
    from .reading.setup import Setup
    from .result import Result
    from .stream import Estimate, Fitter

MODEL = 10
"""Of what judges a sweep: the model, its clues, what forbids a verdict. Who changes any result raises it, so
that none that was kept from before is taken for one of now."""

__all__ = [
    "MODEL",
    "Estimate",
    "Fitter",
    "FitterError",
    "Result",
    "Setup",
    "SetupError",
    "TooFewStations",
]

_HOMES = {"Setup": ".reading.setup", "Result": ".result", "Estimate": ".stream", "Fitter": ".stream"}


def __dir__() -> list[str]:
    """The names above, loaded or not."""
    return __all__


def __getattr__(name: str) -> object:
    """Load one of the names above from its home. Raises AttributeError for any other."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOMES[name], __name__), name)
