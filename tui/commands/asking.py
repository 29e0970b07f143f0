"""Questions on the terminal, for what nobody has said and nothing may be assumed."""

import sys

from ..errors import UsageError
from ..output import message


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
