"""A live sweep on the real path: an instrument on a pseudo-terminal, and a run that listens to it."""

import asyncio
import os
import pty
import tty

from coaxly.job.recorded.pipeline import Pipeline
from coaxly.job.sweep.begin import new_header
from coaxly.job.sweep.run import SweepRun
from coaxly.logger.clock import SessionClock
from coaxly.logger.profile import built_in
from coaxly.logger.recording.records import INDICATOR
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.logger.rig.engine import Engine, Rig
from coaxly.logger.rig.rigport import RigPort

ENGINE = Engine(centre=(0.05, -0.08), noise=0.0005, tremble=0.02, resolution=0.0001)


class Bench:
    """A rig on a port, a run that listens to it, and a hand to turn the crank."""

    def __init__(self, path, plan, engine=ENGINE, turn_deg_s=90.0):
        header = new_header(
            setup={"closing": plan.closing, "steady_mm": 0.006},
            instrument=built_in("stream-decimal").to_header(),
            angle={"mode": "entered", "stations": plan.stations},
        )
        self.clock = SessionClock()
        self.rig = Rig(engine, turn_deg_s=turn_deg_s)
        self.run = SweepRun("bench", Pipeline(header), RecordingWriter(path, header), self.clock, plan)

    def port(self):
        """The rig's voice, to be opened."""
        return RigPort(lambda t: f"{self.rig.reading(t):+.4f}\r\n".encode(), self.clock)

    def sources(self, port):
        return {INDICATOR: (port.url, self.run.pipeline.profile)}

    async def turn(self, deg):
        """Turn the crank, and be there."""
        arrival = self.rig.turn_to(deg, self.clock())
        await asyncio.sleep(max(arrival - self.clock(), 0.0))


class Wire:
    """A pseudo-terminal behind a name that stays, as /dev/serial/by-id does."""

    def __init__(self, link):
        self.link = link
        self.ours = self.theirs = -1
        self.plug()

    def plug(self):
        self.ours, self.theirs = pty.openpty()
        for end in (self.ours, self.theirs):
            tty.setraw(end)
        self.link.unlink(missing_ok=True)
        self.link.symlink_to(os.ttyname(self.theirs))

    def unplug(self):
        # The name goes too: its number may be given to another pseudo-terminal of this machine at once.
        self.link.unlink(missing_ok=True)
        os.close(self.theirs)
        os.close(self.ours)

    def say(self, data):
        os.write(self.ours, data)
