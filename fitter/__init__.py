"""From samples to an estimate, a decision and a choice of dowels.

Pure: numpy and scipy only, no files, ports, clocks or screens.
"""

from .errors import FitterError, SetupError, TooFewStations
from .reading.setup import Setup
from .result import Result
from .stream import Estimate, Fitter

__all__ = [
    "Estimate",
    "Fitter",
    "FitterError",
    "Result",
    "Setup",
    "SetupError",
    "TooFewStations",
]
