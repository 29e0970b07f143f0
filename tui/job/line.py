"""In what state the lines to dial and encoder are, and what each is called in words."""

from enum import StrEnum
from typing import Final

from logger.readings import Fault
from logger.records import ENCODER, INDICATOR, OPPOSITE
from logger.watch import MUTE, SILENT_S, LineWatch


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


def named(*ports: str) -> str:
    """Ports in words: "dial and encoder"."""
    return " and ".join(NAMES.get(port, port) for port in ports)


class LineState:
    """All lines of a sweep together. Sans-IO.

    Rules: each port has a state of its own, and one that is lost, or not open yet, speaks for all; only
    then does it count what the dial says, and after that whether angles come with it.
    """

    def __init__(self, *, on_demand: bool) -> None:
        """No port yet. on_demand: the dial only speaks when its button is pressed."""
        self.watch = LineWatch(on_demand=on_demand)
        self._ports: dict[str, LinkState] = {}
        self._no_angle = False

    def expect(self, *ports: str) -> None:
        """These are about to be opened."""
        self._ports.update(dict.fromkeys(ports, LinkState.WAITING))

    def linked(self, port: str, state: str, t: float) -> str:
        """A port came "up" or was "lost". Returns that in words."""
        self._ports[port] = LinkState(state)
        if state != LinkState.UP:
            return f"cable of the {named(port)} lost"
        if port == INDICATOR:
            self.watch.connected(t)
        return f"{named(port)} connected"

    def encoder_behind(self, seconds: float, t: float) -> list[Fault]:
        """By how much the newest reading is ahead of the newest angle. Returns what is to be noted."""
        before, self._no_angle = self._no_angle, seconds > SILENT_S
        if before or not self._no_angle:
            return []
        what = "the encoder is silent: readings are kept, but without an angle"
        return [Fault(t, ENCODER, what, serious=False)]

    @property
    def lost(self) -> tuple[str, ...]:
        """The ports that are lost."""
        return tuple(port for port, state in self._ports.items() if state is LinkState.LOST)

    @property
    def link(self) -> LinkState:
        """The state of all together."""
        for state in (LinkState.LOST, LinkState.WAITING):
            if not self._ports or state in self._ports.values():
                return state if self._ports else LinkState.WAITING
        for is_so, state in (
            (self.watch.silent, LinkState.SILENT),
            (self.watch.mute, LinkState.MUTE),
            (self.watch.garbled, LinkState.GARBLED),
            (self._no_angle, LinkState.NO_ANGLE),
        ):
            if is_so:
                return state
        return LinkState.UP

    @property
    def refusal(self) -> str | None:
        """Why nothing can be taken now; None if something can."""
        if self.lost:
            return f"the cable of the {named(*self.lost)} is lost: nothing can be taken"
        if self.watch.mute:
            return MUTE
        if self.watch.garbled:
            return "nothing to take: what comes is no reading"
        return "nothing to take: the dial is silent" if self.watch.silent else None
