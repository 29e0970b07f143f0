"""A bore with a dial in it, and the aim of a sweep of it, for tests of tapping."""

import asyncio
import math

import numpy as np

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.aim import Aim
from coaxly.fitter.analysis import corrected
from coaxly.fitter.geometry import InternalDeg, polar
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.job.steps.nudge import Nudge
from coaxly.job.steps.nudgerun import NudgeView
from coaxly.job.sweep.linestate import LinkState

EIGHT = np.arange(0.0, 360.0, 45.0)


def reads(centre, deg, *, sign=-1.0, oval=0.4 * THOU, mean=0.8, sag=0.0):
    """The dial's reading at `deg`, mm."""
    rad = math.radians(deg)
    return (
        mean
        + sign * (centre[0] * math.sin(rad) + centre[1] * math.cos(rad))
        + sign * sag * math.cos(rad)
        + oval * math.cos(2.0 * rad - 1.0)
    )


def aim(centre, setup=None, **how):
    fitter = Fitter(setup or Setup())
    for k, deg in enumerate(EIGHT):
        fitter.add_station(float(deg), np.array([reads(centre, deg, **how)]), np.array([float(k)]))
    return Aim.of(fitter.setup, fitter.result(), corrected(fitter.setup, fitter.stations()))


class Played:
    """A nudge whose dial reads what the test says, and takes it at once."""

    def __init__(self):
        self.at, self.nudge, self.finished, self.pressed = (
            polar(0.2, 210.0),
            Nudge(aim(polar(0.2, 210.0))),
            False,
            0,
        )

    def read(self):
        return (reads(self.at, self.nudge.deg),)

    def press(self):
        self.pressed += 1
        self.nudge.taken(self.read())

    def stop(self):
        self.finished = True

    async def play(self):
        await asyncio.Event().wait()

    def view(self):
        nudge = self.nudge
        return NudgeView(
            title="blue van", step=nudge.step, came=nudge.came, deg=InternalDeg(nudge.deg), scale_deg=None,
            dials=1, go=nudge.live(self.read()), most=0.2, tolerance=nudge.tolerance, shift=nudge.shift,
            reading=0.8, steady=True, waiting=False, link=LinkState.UP, trouble=None, news=None, sd=0.002,
            finished=self.finished, failure="",
        )  # fmt: skip
