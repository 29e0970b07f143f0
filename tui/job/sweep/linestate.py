"""In what state the lines to dial and encoder are."""

from enum import StrEnum

from coaxly.logger.profile import Profile
from coaxly.logger.readings import Fault
from coaxly.logger.recording.records import INDICATOR
from coaxly.logger.watch.linewatch import SILENT_S, LineWatch

from .faultwords import encoder_silent
from .news import Do, News, Task, What, Why


class LinkState(StrEnum):
    """Of one line, or the worst of several. WAITING: not open yet; MUTE: open, and nothing ever came;
    GARBLED: bytes come, and none is a reading; COMPLAINS: the dial says only what is wrong with it; NO_ANGLE:
    the encoder says nothing."""

    UP = "up"
    NO_ANGLE = "no angle"
    SILENT = "silent"
    MUTE = "mute"
    GARBLED = "garbled"
    COMPLAINS = "complains"
    WAITING = "waiting"
    LOST = "lost"
    REPLAY = "replay"


class LineState:
    """All lines of a sweep together. Sans-IO.

    Rules: each port has a state of its own, and one that is lost, or not open yet, speaks for all; only
    then does it count what the dial says, and after that whether angles come with it.
    """

    def __init__(self, profile: Profile) -> None:
        """No port yet. profile: of the dial; one whose readings are typed cannot fall silent."""
        self.watch = LineWatch(on_demand=profile.on_demand or profile.typed)
        self._on_demand = profile.on_demand
        self._ports: dict[str, LinkState] = {}
        self._no_angle = False

    def expect(self, *ports: str) -> None:
        """These are about to be opened."""
        self._ports.update(dict.fromkeys(ports, LinkState.WAITING))

    def linked(self, port: str, state: str, t: float) -> News:
        """A port came "up" or was "lost"."""
        self._ports[port] = LinkState(state)
        if state != LinkState.UP:
            if port == INDICATOR:
                self.watch.lost()
            return News(What.LOST, ports=(port,))
        if port == INDICATOR:
            self.watch.connected(t)
        return News(What.CONNECTED, ports=(port,))

    def encoder_behind(self, seconds: float, t: float) -> list[Fault]:
        """By how much the newest reading is ahead of the newest angle. Returns what is to be noted."""
        before, self._no_angle = self._no_angle, seconds > SILENT_S
        if before or not self._no_angle:
            return []
        return [encoder_silent(t)]

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
        if self.watch.trouble:
            return LinkState(self.watch.trouble)
        return LinkState.NO_ANGLE if self._no_angle else LinkState.UP

    @property
    def trouble(self) -> Task | None:
        """What is to be done about cable and dial before anything else."""
        if self.lost:
            return Task(Do.PLUG_IN, ports=self.lost)
        if self.watch.key_pressed:
            return Task(Do.SWEEP_AGAIN)
        if self.watch.switched_to:
            return Task(Do.SET_BACK, unit=self.watch.switched_to)
        if self.watch.trouble == "garbled":
            return Task(Do.MEND_LINE)
        if self.watch.complaint:
            return Task(Do.MEND_DIAL, says=self.watch.complaint)
        return Task(Do.SWITCH_ON) if self.watch.trouble else None

    @property
    def why_silent(self) -> Why:
        """Why no reading has come."""
        if self.watch.babbles:
            return Why.COMPLAINS if self.watch.complaint else Why.GARBLED
        return Why.SILENT if self.watch.heard else Why.MUTE

    @property
    def refusal(self) -> News | None:
        """Why nothing can be taken now; None if something can."""
        if self.lost:
            return News(What.PORTS_LOST, ports=self.lost)
        if self.watch.key_pressed:
            return News(What.SAYS, ports=(INDICATOR,), says="unit_switched")
        if self.watch.switched_to:
            return News(What.SWITCHED)
        if self.watch.trouble == "mute":
            return News(What.MUTE)
        if self.watch.trouble == "garbled":
            return News(What.GARBLED)
        # Waited for, the next reading may be of another place: whoever pressed does not stand there for ever.
        now = self.watch.saying if self.watch.saying != "low_battery" else ""
        if says := self.watch.complaint or now:
            return News(What.COMPLAINS, says=says)
        return News(What.SILENT) if self.watch.trouble else None

    def takes_nothing(self, *, continuous: bool) -> News | None:
        """What is said to whoever asks for a station where nobody has to: angles come by themselves, or the
        dial has a button. None elsewhere."""
        if continuous:
            return self.refusal or News(What.BY_ITSELF)
        return News(What.BUTTON) if self._on_demand else None
