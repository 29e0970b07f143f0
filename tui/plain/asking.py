"""Questions on the terminal where nothing may be assumed: the unit of a dial, and whether to go on in spite
of a doubt.
"""

import sys
from collections.abc import Sequence

from ..errors import UsageError
from ..job.recorded.consistency import FIRM, Doubt
from ..output import message
from ..say.sweep.doubts import ANYWAY, doubt_sentence


def answered(nobody: str = "nobody answers, so nothing was written") -> str:
    """What somebody types now. Raises UsageError where the terminal has gone. nobody: what is said then."""
    if not (line := sys.stdin.readline()):
        raise UsageError(nobody)
    return line.strip()


def asked_unit() -> str:
    """The unit of a dial, asked on the terminal. Raises UsageError where nobody answers."""
    while True:
        message("Does the dial show millimetres or inches? Its lines do not say: type mm or in.")
        word = answered("the unit of the dial is not known: give --unit mm or --unit in").lower()
        if word in ("mm", "in", "inch", "inches"):
            return word[:2]


def settle(doubts: Sequence[Doubt], unit: str, *, anyway: bool) -> None:
    """Refuse what is in doubt, or say it and go on. Raises UsageError."""
    if firm := [doubt_sentence(doubt, unit) for doubt in doubts if doubt.kind in FIRM]:
        raise UsageError("; ".join(firm))
    said = [doubt_sentence(doubt, unit) for doubt in doubts]
    if said and not anyway:
        raise UsageError(f"{'; '.join(said)}. {ANYWAY}")
    for doubt in said:
        message(f"! {doubt}: used anyway")
