"""Lengths: millimetres inside, the user's unit at the door.

1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
"""

from typing import Final

MM_PER_INCH: Final = 25.4
MM_PER_THOU: Final = MM_PER_INCH / 1000.0
MM_PER_UNIT: Final[dict[str, float]] = {
    "mm": 1.0,
    "um": 1e-3,
    "in": MM_PER_INCH,
    "thou": MM_PER_THOU,
}


def to_mm(value: float, unit: str) -> float:
    """A length of `value` in `unit` ("mm", "um", "in" or "thou") in millimetres.

    Raises ValueError for any other unit.
    """
    try:
        return value * MM_PER_UNIT[unit]
    except KeyError:
        raise ValueError(f"unknown unit {unit!r}: use thou, in, mm or um") from None


def from_mm(mm: float, unit: str) -> float:
    """A length of `mm` millimetres in `unit`; the inverse of `to_mm`."""
    return mm / MM_PER_UNIT[unit]
