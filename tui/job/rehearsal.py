"""The built-in engine as a job: an invented engine, two sweeps of it, and dowels set in between.

Everything runs over the same serial path as real hardware: the rig speaks on a pseudo-terminal.
"""

import asyncio
import math
import random
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fitter.dowels.compare import Comparison, compare
from fitter.dowels.kit import OFFSET_SD_MM, Kit
from fitter.dowels.plan import Option, Workshop
from fitter.dowels.setting import SETTING_SD_DEG, DowelSetting
from fitter.geometry import polar
from fitter.units import MM_PER_INCH
from fitter.units import MM_PER_THOU as THOU
from logger.angle import Source
from logger.clock import SessionClock
from logger.profile import built_in
from logger.records import INDICATOR
from logger.rig import Engine, Rig
from logger.rigport import RigPort
from logger.writer import RecordingWriter

from .header import new_header
from .pipeline import Pipeline
from .planning import options_for
from .schedule import Plan
from .sweep import SweepRun

KIT: Final = [3 * THOU, 5 * THOU, 7 * THOU, 10 * THOU, 15 * THOU]
_STEP_PAUSE_S: Final = 0.15
_PLAN: Final = Plan(stations=8, closing=True)


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


@dataclass(frozen=True)
class Act:
    """One sweep of the rehearsal: the run to watch, and `play` to let it happen."""

    run: SweepRun
    rig: Rig
    clock: SessionClock

    async def play(self) -> None:
        """Sweep from the first station to the sealed file. Raises LoggerError."""

        def line(t: float) -> bytes:
            return f"{self.rig.reading(t) / MM_PER_INCH:+09.5f}\r\n".encode()

        async with RigPort(line, self.clock) as port:
            sweep = asyncio.create_task(
                self.run.run({INDICATOR: Source(port.url, self.run.pipeline.profile)})
            )
            hand = asyncio.create_task(self._hand())
            done, pending = await asyncio.wait({sweep, hand}, return_when=asyncio.FIRST_COMPLETED)
            if hand in done and not hand.cancelled() and hand.exception() is None:
                await sweep
            for task in pending:
                task.cancel()
            await asyncio.gather(*pending, return_exceptions=True)
            for task in done:
                task.result()

    async def _hand(self) -> None:
        """Turn the crank from station to station, stop, confirm, and finish."""
        at = 0.0
        while (due := self.run.next_deg) is not None and not self.run.finished.is_set():
            turn = math.ceil((at - due - 1e-9) / 360.0)
            at = due + 360.0 * max(turn, 0)
            arrival = self.rig.turn_to(at, self.clock())
            await self._until(arrival + _STEP_PAUSE_S)
            if not self.run.finished.is_set():
                self.run.confirm()
            await self.run.captured()
        self.run.finish()

    async def _until(self, t: float) -> None:
        await asyncio.sleep(max(self.clock.wall(t - self.clock()), 0.0))


class Rehearsal:
    """The whole job on the rig: found, plan, set, left, verdict."""

    def __init__(self, seed: int, speed: float, folder: Path) -> None:
        """`folder` exists and holds no recording yet."""
        self.seed, self.speed, self.folder = seed, speed, folder
        self.engine = engine_of(seed)
        self._dice = random.Random(seed + 1_000_003)

    def act(self, stage: str) -> Act:
        """The sweep "found" or "left", ready to be played."""
        profile = built_in("stream-decimal")
        instrument = {**profile.to_header(), "unit": "in"}
        setup = {
            "closing": True,
            "limit_mm": 5 * THOU,
            "steady_mm": 0.8 * THOU,
            "resolution_mm": 0.05 * THOU,
        }
        header = new_header(
            setup=setup,
            instrument=instrument,
            angle={"mode": "entered", "stations": _PLAN.stations},
            job="built-in engine",
            stage=stage,
            operator="the rig's hand",
        )
        pipeline = Pipeline(header)
        clock = SessionClock(self.speed)
        writer = RecordingWriter(self.path(stage), header)
        run = SweepRun(f"built-in engine, as {stage}", pipeline, writer, clock, _PLAN)
        rig = Rig(self.engine, seed=self.seed * 2 + (stage == "left"))
        return Act(run, rig, clock)

    def path(self, stage: str) -> Path:
        """Where the recording of a stage is."""
        return self.folder / f"{stage}.jsonl"

    def options(self, found: SweepRun) -> list[Option]:
        """What the kit offers for the housing as found."""
        assert found.result is not None
        return options_for(found.pipeline, found.result, Workshop(Kit.of(KIT, "rig's kit")))

    def set_dowels(self, option: Option) -> None:
        """Fit an option's dowels as a person would: nearly right."""
        if not option.dowels:
            return
        shifts = [
            polar(
                dowel.offset + self._dice.gauss(0.0, OFFSET_SD_MM),
                dowel.deg + self._dice.gauss(0.0, SETTING_SD_DEG),
            )
            for dowel in option.dowels
        ]
        x = sum(s[0] for s in shifts) / len(shifts)
        y = sum(s[1] for s in shifts) / len(shifts)
        self.engine = self.engine.moved((x, y))

    def comparison(self, found: SweepRun, left: SweepRun, option: Option) -> Comparison:
        """Planned against measured."""
        assert found.result is not None and left.result is not None
        kit = Kit.of(KIT, "rig's kit")
        return compare(found.result.eccentricity, left.result.eccentricity, setting_of(option), kit=kit)

    def write_job(self, option: Option) -> None:
        """The job file beside the recordings."""
        import tomli_w

        table = {
            "job": "built-in engine",
            "engine": f"invented engine {self.seed}",
            "housing": "its housing",
            "limit_mm": 5 * THOU,
            "kit_mm": list(KIT),
            "dowel": [{"offset_mm": dowel.offset, "deg": dowel.deg} for dowel in option.dowels],
        }
        (self.folder / "job.toml").write_text(tomli_w.dumps(table), encoding="utf-8")


def setting_of(option: Option) -> DowelSetting | None:
    """An option's dowels as a setting; None where it has none."""
    if not option.dowels:
        return None
    first, second = option.dowels
    return DowelSetting((first.offset, second.offset), (first.deg, second.deg))
