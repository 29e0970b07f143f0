"""What goes wrong on a line without any bad line: silence, a frozen dial, a switched unit, a lazy rate.

Sans-IO: told of bytes, of readings and of time, it answers with notes for the recording and for the
operator. Each is said once, until it has passed.
"""

import math
from collections import deque
from typing import Final, Literal

from ..marks import FaultKind
from ..readings import Fault, Readings
from ..recording.records import INDICATOR
from .unitswitch import SwitchWatch

SILENT_S: Final = 2.0
"""A dial that has said nothing for so long is called silent, unless it is known to speak more rarely."""

_GAPS: Final = 5
_SLOW: Final = 2.5
_FROZEN_STATIONS: Final = 3
_LAZY: Final = 0.5
_RATE_READINGS: Final = 40
_FLOOD_PER_S: Final = 3000.0
"""No dial speaks so fast; a line that does loses some of it on the way."""

_SWITCHED: Final = "the reading jumped by 25.4 times: was the dial switched between mm and inch? Set it back"
_BACK: Final = "the reading jumped back by 25.4 times: the dial shows its unit again"

MUTE: Final = (
    "nothing comes from the dial: check its power, its data key, the cable and the port, then its "
    "speed (baud): 'coaxly listen PORT' finds it"
)
_GARBLED: Final = (
    "what comes ({sample}) is no reading: another instrument's port, a wrong speed (baud) or a wrong "
    "profile? 'coaxly listen PORT' finds out"
)
_SAMPLE: Final = 24
SILENT: Final = "the dial is silent: is it switched on, has it gone to sleep, is the cable in?"

_STANDS: Final = (
    f"the dial read exactly the same at {_FROZEN_STATIONS} stations: is it on hold, "
    "is the tip off the surface?"
)


Trouble = Literal["", "silent", "mute", "garbled", "complains"]
"""silent: it spoke, and has stopped. mute: open, and nothing ever came. garbled: bytes come, and no reading.
complains: all that comes is what it says of itself."""


class LineWatch:
    """Watches one indicator. trouble: with its line; switched_to: "mm" or "in" while a jump by 25.4 stands,
    else ""; key_pressed: whether the pipeline saw that in mid-turn, which no key makes good."""

    def __init__(self, *, on_demand: bool = False) -> None:
        """Nothing heard yet. on_demand: it only speaks when its button is pressed, so silence is no
        trouble."""
        self.trouble: Trouble = ""
        self.switched_to, self.key_pressed = "", False
        self.saying: FaultKind = ""
        """What it has said of itself since the last reading."""
        self._told: set[tuple[str, FaultKind]] = set()
        self._unit, self._switch = "", SwitchWatch(math.inf)
        self._on_demand = on_demand
        self._since: float | None = None  # connected, or last reading
        self._last_t: float | None = None
        self._bytes_from: float | None = None  # the first bytes since the last reading
        self._bytes_to = 0.0
        self._sample = ""
        self._gaps: deque[float] = deque(maxlen=_GAPS)
        self._stations: deque[float] = deque(maxlen=_FROZEN_STATIONS)
        self._stood = False  # at the last of them, which was told then
        self._times: deque[float] = deque(maxlen=_RATE_READINGS)
        self._usual: float | None = None
        self._lazy = False
        self._counted_from, self._counted, self._flooded = 0.0, 0, False

    @property
    def heard(self) -> bool:
        """Whether it ever spoke in readings."""
        return self._last_t is not None

    @property
    def babbles(self) -> bool:
        """Whether bytes have come since the last reading, and none was a reading."""
        return self._bytes_from is not None

    @property
    def complaint(self) -> FaultKind:
        """What it says of itself where that is all that comes, else ""."""
        return self.saying if self.trouble == "complains" else ""

    @property
    def patience_s(self) -> float:
        """How long it may be silent before that is said: more than two of its usual pauses."""
        if len(self._gaps) < 3:
            return SILENT_S
        return max(SILENT_S, _SLOW * sorted(self._gaps)[len(self._gaps) // 2])

    def connected(self, t: float) -> None:
        """The line was opened, for the first time or again."""
        self._since, self._bytes_from = t, None
        self.trouble = self.saying = self.switched_to = ""

    def lost(self) -> None:
        """The line is gone, and says so itself: that nothing comes is no silence of the dial."""
        self._since, self._bytes_from = None, None
        self.trouble = self.saying = ""
        self._times.clear()

    def says(self, fault: Fault) -> bool:
        """An instrument says something of itself. Returns whether that is news to the operator."""
        if fault.port == INDICATOR:
            self.saying = fault.kind
            self.key_pressed |= fault.kind == "unit_switched"
        told = len(self._told)
        self._told.add((fault.port, fault.kind))
        return len(self._told) > told

    def bytes(self, t: float, data: str = "") -> None:
        """Bytes came that made no reading, or not yet; data: as they are recorded."""
        self._sample = data[:_SAMPLE] if len(data.strip()) > 1 else self._sample
        self._bytes_from = t if self._bytes_from is None else self._bytes_from
        self._bytes_to = t

    def readings(self, block: Readings) -> list[Fault]:
        """New readings, in order of time."""
        notes = []
        if self.trouble:
            self._told.clear()
            what = "the dial speaks again" if self.trouble == "silent" else "the dial speaks"
            notes.append(self._note(block.t.item(0), what))
            self._times.clear()
        self.trouble = self.saying = ""
        if self._last_t is not None:
            gap = block.t.item(0) - self._last_t
            if gap > self.patience_s:
                self._times.clear()  # the program slept (Ctrl+Z, a closed lid): no rate reaches across
            self._gaps.append(gap)
        notes += self._switched(block)
        self._times.extend(block.t.tolist())
        notes += self._rate() + self._flood(block)
        self._last_t = block.t.item(-1)
        self._since, self._bytes_from = self._last_t, None
        return notes

    def tick(self, t: float) -> list[Fault]:
        """Time has passed."""
        if self._since is None or self.trouble == "garbled":
            return []
        if self._bytes_from is not None and self._bytes_to - self._bytes_from > self.patience_s:
            self.trouble = "complains" if self.saying else "garbled"
            what = _GARBLED.format(sample=repr(self._sample.strip()))
            return [] if self.saying else [self._note(t, what)]
        last = self._since if self._bytes_from is None else max(self._since, self._bytes_to)
        told = self.trouble in ("silent", "mute")
        if self._on_demand or told or t - last <= self.patience_s:
            return []
        self.trouble = "silent" if self.heard else "mute"
        return [self._note(t, SILENT if self.heard else MUTE)]

    def station(self, value: float, t: float) -> list[Fault]:
        """A station was taken at which the dial read `value`."""
        self._stations.append(value)
        stands = len(self._stations) == _FROZEN_STATIONS and len(set(self._stations)) == 1
        told, self._stood = self._stood, stands
        if told or not stands:
            return []
        return [self._note(t, _STANDS)]

    def _switched(self, block: Readings) -> list[Fault]:
        """A jump by 25.4, however long it took: where a line says its own unit, a new one ends what was
        told. A dial that is asked one by one, or read off, says too little of that."""
        if self._on_demand:
            return []
        if block.unit != self._unit:
            self._unit, self.switched_to = block.unit, ""
        jumps = self._switch.readings(block)
        if self.key_pressed:
            return []  # back or not, what was said of it holds
        return [self._to("mm" if jump.word == "larger" else "in", jump.t) for jump in jumps][:1]

    def _to(self, unit: str, t: float) -> Fault:
        """A jump; one back ends it."""
        back = self.switched_to not in ("", unit)
        self.switched_to = "" if back else unit
        return self._note(t, _BACK if back else _SWITCHED)

    def _rate(self) -> list[Fault]:
        """Far fewer readings a second than at first: a weak battery, a bad cable, a busy hub."""
        if len(self._times) < _RATE_READINGS:
            return []
        period = (self._times[-1] - self._times[0]) / (_RATE_READINGS - 1)
        if self._usual is None:
            self._usual = period
            return []
        told, self._lazy = self._lazy, period * _LAZY > self._usual
        if told or not self._lazy:
            return []
        what = (
            f"the dial sends {1.0 / period:.1f} readings a second, {1.0 / max(self._usual, 1e-9):.1f} at "
            "first: check battery and cable"
        )
        return [self._note(self._times[-1], what)]

    def _flood(self, block: Readings) -> list[Fault]:
        """More readings in a second than any dial sends, counted over whole seconds: lines come in lumps."""
        t = block.t.item(-1)
        if self._counted == 0:
            self._counted_from = block.t.item(0)
        self._counted += len(block)
        if t - self._counted_from < 1.0:
            return []
        rate = self._counted / (t - self._counted_from)
        self._counted = 0
        if self._flooded or rate <= _FLOOD_PER_S:
            return []
        self._flooded = True
        what = (
            f"the dial sends {rate:.0f} lines a second, more than the line can carry: some are lost. "
            "Slow it down, or let it send on request"
        )
        return [self._note(t, what)]

    @staticmethod
    def _note(t: float, what: str) -> Fault:
        return Fault(t, INDICATOR, what, serious=False)
