"""Faults of a sweep that are noted in its recording, in the words that stand there."""

from typing import Final

from coaxly.logger.readings import Fault
from coaxly.logger.recording.records import ENCODER, INDICATOR, OPPOSITE

CALLED: Final = {INDICATOR: "dial", ENCODER: "encoder", OPPOSITE: "second dial"}
"""What a port is called in them."""


def encoder_silent(t: float) -> Fault:
    """Readings come, and no angles with them."""
    return Fault(t, ENCODER, "the encoder is silent: readings are kept, but without an angle", serious=False)


def bytes_missed(t: float, port: str, missed: int) -> Fault:
    """Bytes came faster than they were taken in."""
    called = CALLED.get(port, port)
    what = f"{missed} bytes of the {called} came faster than they could be taken in and are lost"
    return Fault(t, port, what, serious=False)
