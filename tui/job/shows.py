"""What the measuring screen shows, a live sweep or an act of the rehearsal: how it is let run, and what there
is to see of it.
"""

from coaxly.fitter import Result
from coaxly.logger.angle.source import Source

from .demo.rehearsal import Act
from .sweep.run import SweepRun
from .sweep.view import View


class LiveShow:
    """A sweep on real ports."""

    def __init__(self, run: SweepRun, sources: dict[str, Source]) -> None:
        """`sources`: by port name."""
        self.run, self.sources = run, sources
        self.confirm, self.undo, self.finish, self.stop = run.confirm, run.undo, run.finish, run.stop

    @property
    def result(self) -> Result | None:
        """The finding, once finished."""
        return self.run.result

    def view(self) -> View:
        """What there is to see now."""
        return self.run.view()

    async def play(self) -> None:
        """Open the ports and go on until the sweep is finished."""
        await self.run.run(self.sources)


class RigShow(LiveShow):
    """A sweep of the rehearsal: the rig's hand does the work."""

    def __init__(self, act: Act) -> None:
        super().__init__(act.run, {})
        self._act = act

    async def play(self) -> None:
        """Let the hand turn the crank."""
        await self._act.play()
