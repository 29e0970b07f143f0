"""A length in words."""

from .units import MM_PER_INCH


def thou(mm: float) -> str:
    """A length in thou and in mm, to the tenth of a thou."""
    return f"{mm * 1000.0 / MM_PER_INCH:.1f} thou ({mm:.3f} mm)"
