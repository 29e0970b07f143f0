"""How long a recording is and when its stations were taken, read from the file before it is replayed."""

import contextlib
from dataclasses import dataclass
from pathlib import Path

import msgspec

from coaxly.logger.files import open_regular
from coaxly.logger.recording.reader import LONGEST_LINE
from coaxly.logger.recording.records import Station, decoded, time_of

_TENTHS = 10


_station = msgspec.json.Decoder(Station)


@dataclass(frozen=True, slots=True)
class Timeline:
    """length: seconds; marks: when each station was taken, seconds, rising. Of a sweep that stops at none,
    tenths of its length."""

    length: float = 0.0
    marks: tuple[float, ...] = ()

    def after(self, t: float) -> float:
        """The next mark, or the end."""
        return next((mark for mark in self.marks if mark > t), self.length)

    def before(self, t: float) -> float:
        """The mark before the one that `t` is at, or the beginning: pressed twice, it goes back twice."""
        past = [mark for mark in self.marks if mark <= t]
        return past[-2] if len(past) > 1 else 0.0


def read_timeline(path: Path) -> Timeline:
    """Of a recording. What cannot be read is left out: a replay names it."""
    marks: list[float] = []
    last = b""
    with contextlib.suppress(OSError), open_regular(path) as file:
        while line := file.readline(LONGEST_LINE):
            if b"station" in line and (station := decoded(_station, line)) is not None:
                marks.append(station.t)
            if line.endswith(b"\n"):
                last = line
    length = max(time_of(last) or 0.0, 0.0, *marks)
    if not marks:
        marks = [length * k / _TENTHS for k in range(1, _TENTHS)] if length > 0.0 else []
    return Timeline(length, tuple(sorted(marks)))
