"""The measuring screen of a replay: hold, step, pace, and jump to any station of the time bar."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from ...job.sweep.replayrun import ReplayRun
from ...widgets.timebar import TimeBar
from .sweepscreen import SweepScreen


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
