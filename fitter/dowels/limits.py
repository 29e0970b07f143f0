"""Published limits for the run-out of flywheel and clutch housings, with their sources.

The maker's own service data come first; these are for when there is none.
"""

from dataclasses import dataclass
from typing import Final

from ..units import MM_PER_INCH


@dataclass(frozen=True, slots=True)
class Limit:
    """A permitted TIR in mm and where it comes from, "" if nobody said."""

    tir: float
    source: str


_TM: Final = "US Army TM 10-4320-307-24, p. 3-140"
_MAKER: Final = "an engine maker's service manual"

BY_SAE_SIZE: Final[dict[str, Limit]] = {
    "00": Limit(0.012 * MM_PER_INCH, _TM),
    "0": Limit(0.010 * MM_PER_INCH, _TM),
    "1/2": Limit(0.010 * MM_PER_INCH, _TM),
    "1": Limit(0.008 * MM_PER_INCH, _MAKER),
    "2": Limit(0.008 * MM_PER_INCH, _TM),
    "3": Limit(0.008 * MM_PER_INCH, _TM),
}
"""Bore and face run-out by SAE size of the flywheel housing."""
