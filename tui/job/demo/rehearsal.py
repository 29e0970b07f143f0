"""The built-in engine as a job of a shop: an invented engine, two sweeps of it, and dowels set in between.

Everything runs over the same serial path as real hardware: the rig speaks on a pseudo-terminal.
"""

import asyncio
import math
import random
from collections.abc import Coroutine
from functools import partial
from pathlib import Path
from statistics import fmean
from typing import Any, Final

from coaxly.fitter.dowels.kit import OFFSET_SD_MM
from coaxly.fitter.dowels.plan import Option
from coaxly.fitter.dowels.setting import SETTING_SD_DEG
from coaxly.fitter.geometry import polar
from coaxly.fitter.reading.setup import COMMON_SOURCE
from coaxly.fitter.units import MM_PER_INCH
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.logger.angle.source import Source
from coaxly.logger.profile import built_in
from coaxly.logger.recording.records import INDICATOR
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.logger.rig.engine import Engine, Rig
from coaxly.logger.rig.rigport import RigClock, RigPort

from ..folder.index import open_job
from ..folder.journal import Opened, now
from ..folder.snapshot import look
from ..recorded.pipeline import Pipeline
from ..steps.choosing import Basis, basis, take
from ..steps.jobsteps import note_sweep, put_in
from ..steps.proving import Pair, note_proof, pair_of
from ..steps.wishes import Wish
from ..sweep.begin import new_header
from ..sweep.run import SweepRun
from ..sweep.schedule import Plan


def dial_line(rig: Rig, on_deg: float, t: float) -> bytes:
    """What a dial says in inches at time t, s, that stands so far on from the first one."""
    return f"{rig.reading(t, on_deg) / MM_PER_INCH:+09.5f}\r\n".encode()


async def with_a_hand(work: Coroutine[Any, Any, None], hand: Coroutine[Any, Any, None]) -> None:
    """Until the work is done. A hand that is done first leaves the work to come to its end; whichever of the
    two fails ends both, and its error is raised."""
    working, moving = asyncio.create_task(work), asyncio.create_task(hand)
    done, pending = await asyncio.wait({working, moving}, return_when=asyncio.FIRST_COMPLETED)
    if moving in done and not moving.cancelled() and moving.exception() is None:
        await working
    for task in pending:
        task.cancel()
    await asyncio.gather(*pending, return_exceptions=True)
    for task in done:
        task.result()


KIT: Final = [3 * THOU, 5 * THOU, 7 * THOU, 10 * THOU, 15 * THOU]
_STEP_PAUSE_S: Final = 0.15
_PLAN: Final = Plan(stations=8, closing=True)
_TITLE: Final = "built-in engine"
_HAND: Final = "the rig's hand"
_LIMIT_MM: Final = 5 * THOU


def engine_of(seed: int) -> Engine:
    """The invented engine with a number: each has its own offset, form and drift."""
    dice = random.Random(seed)
    amount = dice.uniform(4.5, 11.0) * THOU
    towards = dice.uniform(0.0, 360.0)
    return Engine(
        centre=polar(amount, towards),
        form=(
            (2, dice.uniform(0.1, 0.6) * THOU, dice.uniform(0.0, 180.0)),
            (3, 0.15 * THOU, dice.uniform(0.0, 120.0)),
        ),
        noise=0.1 * THOU,
        tremble=1.0 * THOU,
        resolution=0.05 * THOU,
        drift=dice.uniform(-0.4, 0.4) * THOU / 20.0,
        mean=0.8,
    )  # fmt: skip


class RigRun(SweepRun):
    """One sweep of the rehearsal, played by the rig's own hand."""

    def __init__(
        self, title: str, pipeline: Pipeline, writer: RecordingWriter, rig: Rig, clock: RigClock
    ) -> None:
        """rig: whose crank is turned. clock: at the speed of the rehearsal."""
        super().__init__(title, pipeline, writer, clock, _PLAN)
        self._rig, self._clock = rig, clock

    async def play(self) -> None:
        """Sweep from the first station to the sealed file. Raises LoggerError."""
        async with RigPort(partial(dial_line, self._rig, 0.0), self._clock) as port:
            self.sources = {INDICATOR: Source(port.url, self.pipeline.profile)}
            await with_a_hand(super().play(), self._hand())

    async def _hand(self) -> None:
        """Turn the crank from station to station, stop, confirm, and finish."""
        at = 0.0
        while (due := self.next_deg) is not None and not self.finished.is_set():
            turn = math.ceil((at - due - 1e-9) / 360.0)
            at = due + 360.0 * max(turn, 0)
            arrival = self._rig.turn_to(at, self._clock())
            await self._clock.until(arrival + _STEP_PAUSE_S)
            if not self.finished.is_set():
                self.confirm()
            await self.captured()
        self.finish()


class Rehearsal:
    """A job of a shop, worked on the rig: found, plan, set, left, verdict, each step noted as in any job."""

    def __init__(self, seed: int, speed: float, shop: Path) -> None:
        """Open the job. Raises UsageError or Failure."""
        self.seed, self.speed, self.shop = seed, speed, shop
        self.engine = engine_of(seed)
        self._dice = random.Random(seed + 1_000_003)
        values = {
            "technician": _HAND,
            "customer": "nobody: this job is invented",
            "block": {"family": "built-in", "serial": f"engine {seed}"},
            "housing": {"family": "built-in", "serial": f"housing {seed}"},
            "limit": f"{_LIMIT_MM / THOU:g}thou",
            "limit_source": COMMON_SOURCE,
            "kit": ",".join(f"{offset / THOU:g}thou" for offset in KIT),
        }
        self.job = open_job(shop, _TITLE, values, Opened(time=now(), operator=_HAND, title=_TITLE))
        self._choice: Basis | None = None

    @property
    def folder(self) -> Path:
        """Of the job."""
        return self.job.path

    def act(self, stage: str) -> RigRun:
        """The sweep "found" or "left", ready to be played."""
        profile = built_in("stream-decimal")
        instrument = {**profile.to_header(), "unit": "in"}
        setup = {
            "closing": True,
            "limit_mm": _LIMIT_MM,
            "limit_source": COMMON_SOURCE,
            "steady_mm": 0.8 * THOU,
            "resolution_mm": 0.05 * THOU,
        }
        header = new_header(
            setup=setup,
            instrument=instrument,
            angle={"mode": "entered", "stations": _PLAN.stations},
            job=_TITLE,
            stage=stage,
            operator=_HAND,
        )
        pipeline = Pipeline(header)
        clock = RigClock(self.speed)
        writer = RecordingWriter(self.job.free_recording(stage, "bore"), header)
        rig = Rig(self.engine, seed=self.seed * 2 + (stage == "left"))
        return RigRun(f"{_TITLE}, as {stage}", pipeline, writer, rig, clock)

    def played(self, run: SweepRun) -> bool:
        """Note a sweep that is over; whether it came to anything. Raises UsageError or Failure."""
        return note_sweep(self.job, run)

    def options(self) -> list[Option]:
        """What the kit offers for the housing as found. Raises LoggerError, FitterError or UsageError."""
        self._choice = basis(look(self.job), Wish(taking=True))
        return self._choice.options

    def set_dowels(self, option: Option) -> None:
        """Take one of the options and fit it as a person would, nearly right. Raises UsageError or
        Failure."""
        assert self._choice is not None
        which = next(k for k, each in enumerate(self._choice.options, 1) if each is option)
        take(self._choice, which)
        known = look(self.job)
        assert known.state.chosen is not None
        self.job.note(put_in(known, known.state.chosen.dowels))
        if not option.dowels:
            return
        shifts = [
            polar(
                dowel.offset + self._dice.gauss(0.0, OFFSET_SD_MM),
                dowel.deg + self._dice.gauss(0.0, SETTING_SD_DEG),
            )
            for dowel in option.dowels
        ]
        self.engine = self.engine.moved((fmean(x for x, _ in shifts), fmean(y for _, y in shifts)))

    def proof(self) -> Pair:
        """Planned against measured, and noted. Raises LoggerError, FitterError or UsageError."""
        found = pair_of(look(self.job), Wish())
        note_proof(found)
        return found
