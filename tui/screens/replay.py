"""The measuring screen of a replay: hold, step, pace, jump."""

from typing import ClassVar

from textual.binding import Binding, BindingType

from ..job.replay import ReplayRun
from .sweep import SweepScreen


class ReplayScreen(SweepScreen):
    """Watch a recording."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("w", "pause", "Hold"),
        Binding("r", "step", "Step"),
        Binding("plus", "pace(1)", "Faster"),
        Binding("minus", "pace(-1)", "Slower"),
    ]
    KEY_PAGE: ClassVar[list[str]] = [
        "space   to the next station        F  to the end",
        "W  wait, go on                     R  one record further",
        "+  faster                          -  slower",
        "M  thou, in, mm, um                D  digits only, as large as they go",
        "Q  back                            ?  this page",
    ]
    KEY_LINE: ClassVar[str] = "Space next station   W wait   R one record   + -   F end"

    def __init__(self, run: ReplayRun) -> None:
        """The recording to be watched."""
        super().__init__(run)
        self.replay = run

    def action_pause(self) -> None:
        """Hold, or go on."""
        self.replay.pause()

    def action_step(self) -> None:
        """One record further."""
        self.replay.step()

    def action_pace(self, way: int) -> None:
        """Faster or slower."""
        self.replay.pace(way)
