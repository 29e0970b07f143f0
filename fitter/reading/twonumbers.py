"""What is left of a sweep with a plain dial: how far the hand went, and where the dial read highest.

The circle that these two describe stands for the readings, which nobody wrote down. How good they are is
common practice, no source: an off-centre amount to half a thou in any direction, which is the hand read to
half a division twice and the out-of-round that the two hold as well; and a place to 10 degrees, for near its
top a circle is flat (within 20 degrees of it the reading falls by 3 % of the swing).
"""

import math
from collections.abc import Mapping
from typing import Any, Final

from ..geometry import InternalDeg
from ..units import MM_PER_THOU

SD_MM: Final = 0.5 * MM_PER_THOU
"""Standard uncertainty of x and of y."""

PLACE_SD_DEG: Final = 10.0
"""Standard uncertainty of where the dial read highest."""

PLACES: Final = 8

KEYS: Final[Mapping[str, Any]] = {
    "two_numbers": True,
    "repeatability_mm": SD_MM,
    "zero_sd_deg": PLACE_SD_DEG,
    # Whoever wrote down a length with its unit, and where the hand turned, saw both.
    "unit_sure": True,
    "sure": ("dead_dial", "held_dial", "not_turned", "tip_off"),
}
"""What a setup holds then."""


def circle(tir_mm: float, high_deg: float) -> list[tuple[InternalDeg, float]]:
    """Places in their order from the highest, degrees clockwise from behind, with what the dial shows there,
    mm. tir_mm: largest less smallest reading; high_deg: where it is largest."""
    places = (InternalDeg((high_deg + 360.0 * k / PLACES) % 360.0) for k in range(PLACES))
    return [(deg, tir_mm / 2.0 * math.cos(math.radians(deg - high_deg))) for deg in places]
