"""The built-in engine's housing with its bolts slack, and the hand that taps it, for trying out `nudge`."""

import math
import random
from contextlib import AsyncExitStack
from functools import partial
from typing import Final

from coaxly.fitter.geometry import polar
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.logger.angle.source import Source
from coaxly.logger.rig.engine import Rig
from coaxly.logger.rig.rigport import RigClock, RigPort

from ..recorded.pipeline import Pipeline
from ..steps.nudge import QUARTER, Came, Step
from ..steps.nudgerun import NudgeRequest, NudgeRun
from .rehearsal import Rehearsal, dial_line, with_a_hand

_PAUSE_S: Final = 0.8
"""Between a tap and the look at the dial."""


class Tapped:
    """One nudge of the built-in engine, whose housing is where the rehearsal left it."""

    def __init__(self, job: Rehearsal, swept: Pipeline, *, dials: int = 1) -> None:
        """swept: its sweep."""
        self._job = job
        self._dice = random.Random(job.seed + 2_000_003)
        self._clock = RigClock(job.speed)
        self._rig = Rig(job.engine, seed=job.seed * 2 + 11)
        self._ports = [RigPort(partial(dial_line, self._rig, QUARTER * k), self._clock) for k in range(dials)]
        # Where the ports are is known once they are open.
        nowhere = Source("", swept.profile)
        request = NudgeRequest(
            swept=swept,
            dial=nowhere,
            second=nowhere if dials > 1 else None,
            outs=tuple(job.folder / name for name in ("nudge.jsonl", "nudge-second.jsonl")[:dials]),
            title="built-in engine",
            operator="the rig's hand",
        )
        self.run = NudgeRun(request, self._clock)
        """What is to be seen; `play` lets it happen."""

    async def play(self) -> None:
        """From the first parking to bolts that hold. Raises LoggerError."""
        run = self.run
        async with AsyncExitStack() as stack:
            ports = [await stack.enter_async_context(port) for port in self._ports]
            run.speak_at([port.url for port in ports])
            await with_a_hand(run.play(), self._hand(run))
        self._job.engine = self._rig.engine

    async def _hand(self, run: NudgeRun) -> None:
        parked = math.nan
        while not run.finished:
            if run.nudge.deg != parked:
                parked = run.nudge.deg
                turn = self._rig.turn_to(self._ahead(parked + self._dice.gauss(0.0, 3.0)), self._clock())
                await self._clock.until(turn)
            await self._clock.until(self._clock() + _PAUSE_S)
            go = run.view().go
            if run.nudge.step is Step.TAP and go is not None and not go.within:
                self._tap(go.amount, go.towards_deg or 0.0)
                continue
            run.press()
            await run.taken()
            if run.nudge.came is Came.TIED:
                self._moved(self._dice.uniform(-0.4, 0.4), -self._dice.uniform(0.0, 1.5))
            elif run.nudge.came is Came.BOTH_RIGHT:
                self._moved(self._dice.gauss(0.0, 0.1), self._dice.gauss(0.0, 0.1))

    def _ahead(self, deg: float) -> float:
        """The same place, reached by turning on."""
        now = self._rig.angle(self._clock())
        return deg + 360.0 * math.ceil((now - deg - 10.0) / 360.0)

    def _tap(self, amount: float, towards: float) -> None:
        meant = max(amount / THOU, 0.1) * self._dice.uniform(0.4, 1.2)
        self._moved(*polar(meant, towards + self._dice.uniform(-15.0, 15.0)))

    def _moved(self, x: float, y: float) -> None:
        """The housing goes somewhere, thou."""
        self._rig.engine = self._rig.engine.moved((x * THOU, y * THOU))
