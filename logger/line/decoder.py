"""From bytes to readings, without I/O, clock or logging.

`feed` stores, `events` gives. How the bytes were cut into chunks never changes what comes out; a
line that is no reading becomes a `Fault`, never a made-up number and never silence.
"""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..marks import ALL_NINES, LEAST_NINES, FaultKind
from ..profile import DECIMAL, PAIR, Profile
from ..readings import Fault, Floats, Readings
from ..recording.records import ENCODER, OPPOSITE
from .framing import apart, ends_of
from .grammar import LARGEST, LARGEST_COUNT, NO_UNIT, Said, said
from .numerals import COUNTS, DEGREES, numbers, one_comma_each, pulses, stripped, without_word

Positions = NDArray[np.int64]

LONGEST_LINE: Final = 256
SETTLE_S: Final = 0.05
"""A line that begins within this time of connecting may have lost its head, sign included."""

_PLAIN: Final = {
    DECIMAL: b"0123456789+-.",
    PAIR: b"0123456789+-.,",
    DEGREES: b"0123456789+-.",
    COUNTS: b"0123456789+-",
}
"""Patterns that may be read without a regular expression, and the bytes of which their numbers consist."""

_FEW: Final = 16  # so many lines go one by one; more are halved until the bad ones are alone
_QUOTED: Final = 24


class _Out:
    """What was understood, in order. Readings of a kind are gathered, so that one bad line in a block costs
    only itself."""

    def __init__(self, port: str) -> None:
        self._port = port
        self.events: list[Readings | Fault] = []
        self._run: list[tuple[float, float, float, float]] = []
        self._run_kind = ("", True, True)

    def taken(self) -> Iterator[Readings | Fault]:
        """All of it, once."""
        events, self.events = self.events, []
        return iter(events)

    def reading(self, t: float, found: Said) -> None:
        """One line's."""
        if found.opposite is not None:
            # The second indicator's: a block of its own port, just before that of the first.
            self.end_run()
            self.events.append(
                Readings(OPPOSITE, np.array([t]), np.array([found.opposite]), None, found.unit)
            )
        kind = (found.unit, found.angle is None, found.marked is None)
        if kind != self._run_kind:
            self.end_run()
            self._run_kind = kind
        self._run.append((t, found.value, found.angle or 0.0, float(found.marked or 0.0)))

    def end_run(self) -> None:
        """What was gathered is a block."""
        if self._run:
            t, value, angle, pulse = np.array(self._run).T
            unit, bare, unmarked = self._run_kind
            index = None if unmarked else pulse > 0.0
            self.events.append(Readings(self._port, t, value, None if bare else angle, unit, index))
            self._run = []

    def fault(self, t: float, what: str, line: bytes, mark: FaultKind = "", *, serious: bool = True) -> None:
        """A line that is no reading."""
        self.end_run()
        text = line[:_QUOTED].decode("latin-1")
        self.events.append(Fault(t, self._port, f"{what}: {text!r}", serious, mark, text.strip()))


class Decoder:
    """Decodes the lines of one port by a profile."""

    def __init__(self, profile: Profile, port: str = "indicator") -> None:
        """Nothing fed yet. `port` is the name that readings and faults carry."""
        self.profile = profile
        self._unit = profile.unit or NO_UNIT
        self.port = port
        self._rest = b""
        self._skipping = False  # inside a line that was too long
        self._opened: float | None = None  # connected, and no byte seen since
        self._cut = False  # the line in progress may have lost its head
        self._out = _Out(port)
        self._ends = ends_of(profile.terminator.encode("ascii"))
        self._plain = profile.pattern if _is_plain(profile, self._ends) else None
        self._largest = LARGEST_COUNT if port == ENCODER else LARGEST
        self._allowed = _PLAIN.get(profile.pattern, b"") + self._ends
        self._came, self._tail = 0.0, False  # where pauses end lines: the newest byte, and what may come

    def connected(self, t: float) -> None:
        """The port was opened at `t`: what was half received before is void."""
        self._rest, self._skipping, self._cut, self._tail = b"", False, False, False
        self._opened = None if self.profile.polled else t

    def feed(self, data: bytes, t: float) -> None:
        """Take in bytes that arrived together at time `t`, s."""
        self.feed_many(data, (len(data),), (t,))

    def feed_many(self, data: bytes, lengths: Sequence[int], times: Sequence[float]) -> None:
        """Take in chunks joined to `data`, each with its length and time of arrival.

        The same as feeding them one by one. A reading's time is that of the chunk which holds the
        end of its line.
        """
        if self.profile.pause_s:
            self._by_pauses(data, lengths, times)
            return
        if not data:
            return
        self._first_came(lengths, times)
        chunk_ends = np.cumsum(lengths) + len(self._rest)
        data = self._rest + data
        when = np.array(times, dtype=np.float64)
        time_at = partial(_time_at, chunk_ends, when)
        if self.profile.length:
            self._of_one_length(data, time_at)
            return
        positions = _positions(data, self._ends)
        start = int(positions[-1]) + 1 if len(positions) else 0
        if start:
            self._lines(data, positions, _times(positions, chunk_ends, when), time_at)
        self._rest = data[start:]
        if not self._skipping and len(self._rest) > LONGEST_LINE:
            self._overlong(self._rest, time_at(start + LONGEST_LINE))
        if self._skipping:
            self._rest = b""

    def events(self) -> Iterator[Readings | Fault]:
        """What has been understood since the last call, in order."""
        return self._out.taken()

    def _lines(
        self, data: bytes, ends: Positions, t: Floats, time_at: Callable[[int], float], begin: int = 0
    ) -> None:
        """Whole lines, the first from `begin`; ends: where each ends, t: when that came."""
        done = 0
        while done < len(ends) and (self._skipping or self._cut):
            done += 1
            self._line(data[begin : int(ends[done - 1])], begin, float(t[done - 1]), time_at)
            begin = int(ends[done - 1]) + 1
        self._out.end_run()
        ends, t = ends[done:], t[done:]
        if len(ends) == 0:
            return
        if self._plain is not None:
            if self._fast(data[begin : int(ends[-1]) + 1], ends - begin, t):
                return
            if len(ends) > _FEW:
                # One bad line does not make its whole block slow.
                half = len(ends) // 2
                self._lines(data, ends[:half], t[:half], time_at, begin)
                self._lines(data, ends[half:], t[half:], time_at, int(ends[half - 1]) + 1)
                return
        for end, at in zip(ends.tolist(), t.tolist(), strict=True):
            self._line(data[begin:end], begin, at, time_at)
            begin = end + 1
        self._out.end_run()

    def _of_one_length(self, data: bytes, time_at: Callable[[int], float]) -> None:
        """Lines that nothing ends; what was lost of the first one shows by itself."""
        self._cut = False
        parts, rest = apart(data, self.profile.length, self.profile.regex.fullmatch)
        for begin, end in parts:
            self._line(data[begin:end], begin, time_at(end - 1), time_at)
        self._out.end_run()
        self._rest = data[rest:]

    def _first_came(self, lengths: Sequence[int], times: Sequence[float]) -> None:
        """Of what comes first after connecting: whether its line may have lost its head."""
        if self._opened is not None and any(lengths):
            first = next(t for length, t in zip(lengths, times, strict=True) if length)
            self._cut = first - self._opened < SETTLE_S
            self._opened = None

    def _by_pauses(self, data: bytes, lengths: Sequence[int], times: Sequence[float]) -> None:
        """Lines that nothing ends but a pause, which is a chunk of no bytes. What follows a line that is no
        reading may be its tail, and is not believed."""
        self._first_came(lengths, times)
        at = 0
        for length, t in zip(lengths, times, strict=True):
            if length:
                self._rest, self._came = (self._rest + data[at : at + length])[: 2 * LONGEST_LINE], t
                at += length
            elif self._rest:
                line, self._rest = self._rest, b""
                if self._tail:
                    self._tail = False
                    self._out.fault(
                        self._came, "may be the tail of the line before, not used", line, serious=False
                    )
                    continue
                cut = self._cut
                self._tail = not self._line(line, 0, self._came, lambda _: self._came) and not cut
        self._out.end_run()

    def _fast(self, text: bytes, positions: Positions, t: Floats) -> bool:
        """Whole lines of nothing but plain numbers, all at once; False if they are not."""
        lengths = np.diff(positions, prepend=-1)
        if lengths.max() > LONGEST_LINE + 1:
            return False
        if lengths.min() <= 1:
            positions, t = positions[lengths > 1], t[lengths > 1]
        if len(t) == 0:
            return True
        index, text = pulses(text, positions) if self._plain == COUNTS else (None, text)
        if self._plain in (COUNTS, DEGREES):
            word = without_word(text[:LONGEST_LINE].lstrip(self._ends), self._plain)
            text = stripped(text, word, len(t)) or b"?"
        if text.translate(None, self._allowed):
            return False
        found = _together(text, positions, self._plain == PAIR, self._largest)
        if found is None or (self.port != ENCODER and _may_end(found[1])):
            return False
        angle, value = found
        # Adding nothing makes minus nothing plain nothing, so that no way of reading a line shows.
        value = value * self.profile.scale + 0.0
        self._out.events.append(Readings(self.port, t, value, angle, self._unit, index))
        return True

    def _line(self, line: bytes, begin: int, t: float, time_at: Callable[[int], float]) -> bool:
        """One line without its end, which came at `t`. Returns whether it is understood."""
        if self._skipping or not line:
            self._skipping = False
            return False
        if len(line) > LONGEST_LINE:
            self._overlong(line, time_at(begin + LONGEST_LINE))
            self._skipping = False
            return False
        if self._cut:
            self._cut = False
            self._out.fault(t, "first line after connecting may be cut, not used", line, serious=False)
            return False
        found = said(self.profile, line, dial=self.port != ENCODER)
        if found.what:
            self._out.fault(t, found.what, line, found.mark)
        if isinstance(found, Said):
            self._out.reading(t, found)
        return isinstance(found, Said) or bool(found.mark) or not found.what

    def _overlong(self, line: bytes, t: float) -> None:
        self._out.fault(t, f"line longer than {LONGEST_LINE} bytes, dropped", line)
        self._skipping, self._cut = True, False


def _is_plain(profile: Profile, ends: bytes) -> bool:
    """Whether its lines may be read without a regular expression."""
    usual = profile.signs == "+-" and profile.base == 10 and set(ends) == set(b"\r\n") and not profile.length
    return usual and profile.pattern in _PLAIN


def _positions(data: bytes, ends: bytes) -> Positions:
    """Where a line ends."""
    codes = np.frombuffer(data, dtype=np.uint8)
    is_end = codes == ends[0]
    for end in ends[1:]:
        is_end |= codes == end
    return np.flatnonzero(is_end)


def _time_at(chunk_ends: Positions, when: Floats, position: int) -> float:
    """When the byte at a position came."""
    return float(when[min(int(np.searchsorted(chunk_ends, position, side="right")), len(when) - 1)])


def _times(positions: Positions, chunk_ends: Positions, when: Floats) -> Floats:
    """When the byte at each position came."""
    if len(when) == 1:
        return np.full(len(positions), when[0])
    return when[np.minimum(np.searchsorted(chunk_ends, positions, side="right"), len(when) - 1)]


def _may_end(value: Floats) -> bool:
    """Whether one of many numbers may be where a display ends: lines with one are looked at singly."""
    if max(value.max(), -value.min()) < LEAST_NINES:
        return False
    return not ALL_NINES.isdisjoint(np.abs(value).tolist())


def _together(
    text: bytes, ends: Positions, pair: bool, largest: float
) -> tuple[Floats | None, Floats] | None:
    """Angles, if there are any, and values of lines of nothing but digits, signs and points, shape (n,) each;
    None where one is no number or too large."""
    if pair and not one_comma_each(text, ends):
        return None
    found = numbers(text, (2 if pair else 1) * len(ends))
    if found is None or max(found.max(), -found.min()) > largest:
        return None
    return (found[0::2] + 0.0, found[1::2]) if pair else (None, found)
