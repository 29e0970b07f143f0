"""A live sweep worked by hand in simulated time: no port, no loop, every byte and second given."""

from pathlib import Path
from typing import Any

from making import HandClock

from coaxly.job.recorded.pipeline import Pipeline
from coaxly.job.sweep.begin import new_header
from coaxly.job.sweep.run import SweepRun
from coaxly.job.sweep.schedule import Plan
from coaxly.logger.profile import Profile, built_in
from coaxly.logger.recording.records import INDICATOR
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.say.sweep.sweepwords import told


class HandRun:
    """said: everything that was said to the operator, in order."""

    def __init__(
        self,
        path: Path,
        plan: Plan | None = None,
        *,
        mode: str = "entered",
        profile: Profile | None = None,
        angle: dict[str, Any] | None = None,
        **setup: Any,
    ) -> None:
        self.path, self.clock = path, HandClock()
        plan = plan or Plan(4, closing=False)
        header = new_header(
            setup={"closing": plan.closing, **setup},
            instrument=(profile or built_in("stream-decimal")).to_header(),
            angle={"mode": mode, "stations": plan.stations, **(angle or {})},
        )
        self.run = SweepRun("hand", Pipeline(header), RecordingWriter(path, header), self.clock, plan)
        self.said: list[str] = []
        self.run.listen(lambda news: self.said.append(told(news)))

    def connect(self, *ports: str) -> None:
        for port in ports or (INDICATOR,):
            self.run._linked(port, "up")

    def wait(self, seconds: float) -> None:
        """Time passes, and nothing comes."""
        end = self.clock.t + seconds
        while self.clock.t < end - 1e-9:
            self.clock.t = min(self.clock.t + 0.2, end)
            self.run.tick()

    def say(self, value: float, after: float = 0.1, port: str = INDICATOR) -> None:
        """A reading comes after some seconds."""
        self.bytes(f"{value:+.4f}\r\n".encode(), after, port)

    def bytes(self, data: bytes, after: float = 0.1, port: str = INDICATOR) -> None:
        self.wait(after)
        self.run.session.raw(port, data)

    def rest(self, value: float, seconds: float = 1.0, period: float = 0.1) -> None:
        """The dial stands still and says so."""
        for _ in range(round(seconds / period)):
            self.say(value, period)

    def take(self, value: float) -> None:
        """Turn to the next place, rest, ask, and have it."""
        self.rest(value)
        self.run.confirm()
        self.say(value)

    @property
    def values(self) -> list[float]:
        return [round(float(v), 4) for v in self.run.view().stations.value]
