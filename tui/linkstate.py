"""In what state the lines to dial and encoder are, and what each is called in words."""

from enum import StrEnum
from typing import Final

from logger.records import ENCODER, INDICATOR, OPPOSITE


class LinkState(StrEnum):
    """Of one line, or the worst of several. WAITING: not open yet; MUTE: open, and nothing ever came;
    GARBLED: bytes come, and none is a reading; NO_ANGLE: the encoder says nothing."""

    UP = "up"
    NO_ANGLE = "no angle"
    SILENT = "silent"
    MUTE = "mute"
    GARBLED = "garbled"
    WAITING = "waiting"
    LOST = "lost"
    REPLAY = "replay"


NAMES: Final = {INDICATOR: "dial", ENCODER: "encoder", OPPOSITE: "second dial"}
"""What a port is called on the screen."""


def named(ports: tuple[str, ...]) -> str:
    """Ports in words: "dial and encoder"."""
    return " and ".join(NAMES.get(port, port) for port in ports)


def worst(states: dict[str, LinkState]) -> LinkState:
    """The state of all lines together: one that is lost, or not open yet, speaks for all."""
    for state in (LinkState.LOST, LinkState.WAITING):
        if state in states.values():
            return state
    return LinkState.UP if states else LinkState.WAITING
