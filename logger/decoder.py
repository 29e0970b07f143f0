"""From bytes to readings, without I/O, clock or logging.

`feed` stores, `events` gives. How the bytes were cut into chunks never changes what comes out; a
line that is no reading becomes a `Fault`, never a made-up number and never silence.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from .profile import DECIMAL, PAIR, Profile
from .readings import Fault, Floats, Readings
from .records import OPPOSITE

Positions = NDArray[np.int64]

LONGEST_LINE: Final = 256
LARGEST: Final = 1e6
"""A larger number is no reading of an indicator or encoder in any unit."""

SETTLE_S: Final = 0.05
"""A line that begins within this time of connecting may have lost its head, sign included."""

_DECIMAL_BYTES: Final = b"0123456789+-."
_UNITS: Final = {"": "", "mm": "mm", "in": "in", "inch": "in", '"': "in", "ins": "in"}
_QUOTED: Final = 24


class Decoder:
    """Decodes the lines of one port by a profile."""

    def __init__(self, profile: Profile, port: str = "indicator") -> None:
        """Nothing fed yet. `port` is the name that readings and faults carry."""
        self.profile = profile
        self.port = port
        self._rest = b""
        self._skipping = False  # inside a line that was too long
        self._opened: float | None = None  # connected, and no byte seen since
        self._cut = False  # the line in progress may have lost its head
        self._events: list[Readings | Fault] = []
        self._run: list[tuple[float, float, float, float]] = []
        self._run_kind = ("", True, True)
        ends = profile.terminator.encode("ascii")
        # CR and LF end a line alone or together, whichever a profile names.
        self._ends = bytes(set(ends) | set(b"\r\n")) if set(ends) & set(b"\r\n") else ends
        self._plain = (
            profile.pattern if profile.pattern in (DECIMAL, PAIR) and profile.signs == "+-" else None
        )
        self._allowed = _DECIMAL_BYTES + self._ends + (b"," if self._plain == PAIR else b"")

    def connected(self, t: float) -> None:
        """The port was opened at `t`: what was half received before is void."""
        self._rest, self._skipping, self._cut = b"", False, False
        self._opened = None if self.profile.polled else t

    def feed(self, data: bytes, t: float) -> None:
        """Take in bytes that arrived together at time `t`, s."""
        self.feed_many(data, (len(data),), (t,))

    def feed_many(self, data: bytes, lengths: Sequence[int], times: Sequence[float]) -> None:
        """Take in chunks joined to `data`, each with its length and time of arrival.

        The same as feeding them one by one. A reading's time is that of the chunk which holds the
        end of its line.
        """
        if not data:
            return
        if self._opened is not None:
            first = next(t for length, t in zip(lengths, times, strict=True) if length)
            self._cut = first - self._opened < SETTLE_S
            self._opened = None
        chunk_ends = np.cumsum(lengths) + len(self._rest)
        data = self._rest + data
        codes = np.frombuffer(data, dtype=np.uint8)
        is_end = np.zeros(len(codes), dtype=bool)
        for end in self._ends:
            is_end |= codes == end
        positions = np.flatnonzero(is_end)
        line_starts = np.concatenate(([0], positions + 1))
        when = np.array(times, dtype=np.float64)

        def time_at(position: int) -> float:
            return float(when[min(int(np.searchsorted(chunk_ends, position, side="right")), len(when) - 1)])

        start = int(line_starts[-1])
        special = self._skipping or self._cut
        if len(positions) and not (
            not special and self._fast(data[:start], positions, line_starts, chunk_ends, when)
        ):
            for begin, end in zip(line_starts[:-1].tolist(), positions.tolist(), strict=True):
                self._line(data[begin:end], begin, time_at)
            self._end_run()
        self._rest = data[start:]
        if not self._skipping and len(self._rest) > LONGEST_LINE:
            self._overlong(self._rest, time_at(start + LONGEST_LINE))
        if self._skipping:
            self._rest = b""

    def events(self) -> Iterator[Readings | Fault]:
        """What has been understood since the last call, in order."""
        events, self._events = self._events, []
        return iter(events)

    def _fast(
        self, data: bytes, positions: Positions, starts: Positions, chunk_ends: Positions, when: Floats
    ) -> bool:
        """Whole lines of nothing but plain numbers, all at once; False if they are not."""
        if self._plain is None or data.translate(None, self._allowed):
            return False
        lengths = positions - starts[:-1]
        if lengths.max() > LONGEST_LINE:
            return False
        ends = positions[lengths > 0]
        if len(ends) == 0:
            return True
        text = data
        if self._plain == PAIR:
            commas = np.flatnonzero(np.frombuffer(data, dtype=np.uint8) == ord(","))
            if len(commas) != len(ends) or np.any(np.searchsorted(ends, commas) != np.arange(len(ends))):
                return False
            text = data.replace(b",", b"\n")
        if self._ends not in (b"\r\n", b"\n\r"):
            text = text.translate(bytes.maketrans(self._ends, b"\n" * len(self._ends)))
        try:
            numbers = np.array(list(map(float, text.split())))
        except ValueError:
            return False
        angle = None
        if self._plain == PAIR:
            if len(numbers) != 2 * len(ends):
                return False
            angle, numbers = numbers[0::2], numbers[1::2]
        values = numbers * self.profile.scale
        if np.abs(numbers).max() > LARGEST or (angle is not None and np.abs(angle).max() > LARGEST):
            return False
        t = when[np.minimum(np.searchsorted(chunk_ends, ends, side="right"), len(when) - 1)]
        self._events.append(Readings(self.port, t, values, angle, self.profile.unit))
        return True

    def _line(self, line: bytes, begin: int, time_at: Callable[[int], float]) -> None:
        """One line without its end."""
        if self._skipping:
            self._skipping = False
            return
        if not line:
            return
        if len(line) > LONGEST_LINE:
            self._overlong(line, time_at(begin + LONGEST_LINE))
            self._skipping = False
            return
        t = time_at(begin + len(line))
        if self._cut:
            self._cut = False
            self._fault(t, "first line after connecting may be cut, not used", line, serious=False)
            return
        text = line.decode("latin-1")
        match = self.profile.regex.fullmatch(text)
        if match is None:
            if line.strip():
                self._fault(t, "not a reading", line)
            return
        groups = match.groupdict()
        value = self._number(groups["value"])
        angle = self._number(groups["angle"]) if groups.get("angle") is not None else None
        if value is None or (groups.get("angle") is not None and angle is None):
            self._fault(t, "not a number", line)
            return
        unit = _UNITS.get((groups.get("unit") or "").strip().lower())
        if unit is None:
            self._fault(t, "unit not known", line)
            return
        if (groups.get("flag") or "").strip():
            self._fault(t, "the instrument reports a fault", line)
            return
        if (second := groups.get("opposite")) is not None:
            other = self._number(second)
            if other is None:
                self._fault(t, "not a number", line)
                return
            # Each indicator's readings are a block of their own port, this one's just before.
            self._end_run()
            shown = np.array([other * self.profile.scale])
            self._events.append(Readings(OPPOSITE, np.array([t]), shown, None, unit or self.profile.unit))
        self._reading(t, value * self.profile.scale, angle, unit or self.profile.unit, groups.get("index"))

    def _reading(self, t: float, value: float, angle: float | None, unit: str, index: str | None) -> None:
        """Gather readings of a kind, so that one bad line in a block costs only itself."""
        kind = (unit, angle is None, index is None)
        if kind != self._run_kind:
            self._end_run()
            self._run_kind = kind
        pulse = float(bool(index and index.strip()))
        self._run.append((t, value, 0.0 if angle is None else angle, pulse))

    def _end_run(self) -> None:
        if self._run:
            t, value, angle, pulse = np.array(self._run).T
            unit, bare, unmarked = self._run_kind
            index = None if unmarked else pulse > 0.0
            self._events.append(Readings(self.port, t, value, None if bare else angle, unit, index))
            self._run = []

    def _number(self, text: str | None) -> float | None:
        if text is None:
            return None
        plus, minus = self.profile.signs[0], self.profile.signs[1]
        plain = "".join(text.split()).replace(",", ".")
        negative = minus in plain and minus != "."
        plain = plain.replace(plus, "", 1).replace(minus, "", 1) if plus != "." else plain
        if not plain.replace(".", "", 1).isdigit() or not plain.isascii():
            return None
        number = float(plain)
        if number > LARGEST:
            return None
        return -number if negative else number

    def _overlong(self, line: bytes, t: float) -> None:
        self._fault(t, f"line longer than {LONGEST_LINE} bytes, dropped", line)
        self._skipping, self._cut = True, False

    def _fault(self, t: float, what: str, line: bytes, *, serious: bool = True) -> None:
        self._end_run()
        quoted = line[:_QUOTED].decode("latin-1")
        self._events.append(Fault(t, self.port, f"{what}: {quoted!r}", serious))
