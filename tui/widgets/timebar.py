"""Where a replay is: a bar from its beginning to its end, with its stations."""

from typing import Final

from ..draw.raster import Rows
from ..job.recorded.timeline import Timeline
from .rasterwidget import RasterWidget

_CHARS: Final = {True: ("=", "-", "|", "O"), False: ("━", "─", "┃", "●")}
"""Played, still to come, a station, now: plain, and not."""


class TimeBar(RasterWidget):
    """Two rows: the bar with the time beside it, and the numbers of the stations beneath."""

    DEFAULT_CSS = "TimeBar { height: 2; }"

    _line, _at = Timeline(), 0.0

    def show(self, line: Timeline, at: float) -> None:
        """At so many seconds; drawn anew when a tenth of one has passed."""
        if line != self._line or round(at, 1) != round(self._at, 1):
            self._line, self._at = line, at
            self.stale()

    def drawing(self, width: int, height: int) -> Rows:
        """Bar and numbers."""
        line, at = self._line, self._at
        text = f" {at:.1f} of {line.length:.1f} s "
        room = max(width - len(text) - 1, 1)
        played, coming, post, now = _CHARS[self._glyphs == "ascii"]

        def place(t: float) -> int:
            return min(round(t / line.length * (room - 1)), room - 1) if line.length > 0.0 else 0

        bar = [played if k <= place(at) else coming for k in range(room)]
        numbers = [" "] * (room + 2)
        free = 0
        for number, mark in enumerate(line.marks, 1):
            bar[place(mark)] = post
            label = str(number)
            if place(mark) >= free and place(mark) + len(label) <= room:
                numbers[place(mark) : place(mark) + len(label)] = label
                free = place(mark) + len(label) + 1
        bar[place(at)] = now
        return [[(" " + "".join(bar), "arrow"), (text, "word")], [(" " + "".join(numbers), "hour")]]
