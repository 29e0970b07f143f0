"""What is swept, in words."""

from typing import Final

PARTS: Final = ("pilot", "flywheel")
"""What turns under a dial that stands: nothing is fitted or moved to put it right here."""

SWEPT: Final = {
    "bore": "bore",
    "face": "face",
    "pilot": "pilot bore",
    "flywheel": "flywheel face",
    "sag": "sag of the dial's arm",
}
"""What a feature is called."""


def on_the_part(feature: str) -> str:
    """Where the clock of a part that turns has its 12."""
    return " on the part, with its mark at 12" if feature in PARTS else ""
