"""The measuring screen of a replay: hold, step, pace, and jump to any station of the time bar."""

from typing import ClassVar, Final

from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from ...draw.raster import Rows
from ...job.sweep.replayrun import ReplayRun, Timeline
from ...widgets.rasterwidget import RasterWidget
from .sweepscreen import SweepScreen

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


class ReplayScreen(SweepScreen):
    """Watch a recording."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("w", "pause", "Hold"),
        Binding("r", "step", "Step"),
        Binding("plus", "pace(1)", "Faster"),
        Binding("minus", "pace(-1)", "Slower"),
        Binding("right", "move(1)", "Next station"),
        Binding("left", "move(-1)", "Station before"),
        Binding("0,home", "station(0)", "From the beginning"),
        *[Binding(str(k), f"station({k})", f"Station {k}") for k in range(1, 10)],
    ]
    DEFAULT_CSS = "ReplayScreen #bar { dock: bottom; height: 2; }"
    KEY_PAGE: ClassVar[list[str]] = [
        "space   to the next station        F  to the end",
        "Right, Left  a station on, back    1-9, 0  to that one, to the start",
        "W  wait, go on                     R  one record further",
        "+  faster                          -  slower",
        "M  thou, in, mm, um                D  digits only, large",
        "Q  back                            ?  this page",
    ]
    KEY_LINE: ClassVar[str] = "Space, Right, Left, 1-9 station   W wait   + -   F end"
    DONE_LINE: ClassVar[str] = "Space back   Left, 1-9 station"

    def __init__(self, run: ReplayRun) -> None:
        super().__init__(run)
        self.replay = run
        run.stays = True

    def compose(self) -> ComposeResult:
        """The measuring screen, and the time bar."""
        yield from super().compose()
        yield TimeBar(self.app.glyphs, id="bar")

    def redraw(self) -> None:
        """Everything, and where in time it is."""
        super().redraw()
        for bar in self.query(TimeBar):
            bar.show(self.replay.timeline, self.replay.at)

    def action_pause(self) -> None:
        """Hold, or go on."""
        self.replay.pause()

    def action_step(self) -> None:
        """One record further."""
        self.replay.step()

    def action_pace(self, way: int) -> None:
        """Faster or slower."""
        self.replay.pace(way)

    def action_move(self, way: int) -> None:
        """To the next station, or the one before."""
        line, at = self.replay.timeline, self.replay.at
        self.replay.jump_to(line.after(at) if way > 0 else line.before(at))

    def action_station(self, number: int) -> None:
        """To a station by its number; 0: to the beginning."""
        marks = self.replay.timeline.marks
        if number <= len(marks):
            self.replay.jump_to(marks[number - 1] if number else 0.0)
