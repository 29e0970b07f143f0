"""Questions on the terminal where nothing may be assumed: the unit of a dial, and whether to go on in spite
of a doubt.
"""

import sys
from collections.abc import Sequence

from ..errors import UsageError
from ..job.recorded.consistency import Doubt
from ..output import message
from ..say.sweep.doubts import ANYWAY, doubt_sentence


def asked_unit() -> str:
    """The unit of a dial, asked on the terminal. Raises UsageError where nobody answers."""
    while True:
        message("Does the dial show mm or in? (Its lines do not say; --unit keeps this from being asked.)")
        answer = sys.stdin.readline()
        word = answer.strip().lower()
        if word in ("mm", "in", "inch", "inches"):
            return word[:2]
        if not answer:
            raise UsageError("the unit of the dial is not known: give --unit mm or --unit in")


def settle(doubts: Sequence[Doubt], unit: str, *, anyway: bool) -> None:
    """Refuse what is in doubt, or say it and go on. Raises UsageError."""
    said = [doubt_sentence(doubt, unit) for doubt in doubts]
    if said and not anyway:
        raise UsageError(f"{'; '.join(said)}. {ANYWAY}")
    for doubt in said:
        message(f"! {doubt}: used anyway")
