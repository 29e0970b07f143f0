"""Does a housing that is tapped into place end on the crank? Random engines, swept, tapped, bolted up.

    python tests/bench/nudge.py [--seeds 100] [--dials 1] [--built-in]

Each engine: 9-22 thou of run-out any way, an oval of up to 1 thou and three lobes, a dial of .05 thou in steps
with .1 thou of scatter that drifts by up to .3 thou an hour and was set to another zero since the sweep in every
third. The hand: the housing drops by up to 1.5 thou when the bolts are slackened; a tap carries it .4 to 1.2
times as far as was meant and up to 15 degrees beside the way; the crank is parked to 4 degrees; the bolts draw
it off by .1 thou (standard deviation) each way. Where it ends is read off the engine, not off the dial.
"""

import argparse
import math
import random
import tempfile
from pathlib import Path

import clockwork
import numpy as np

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.aim import Aim
from coaxly.fitter.analysis import corrected
from coaxly.fitter.geometry import polar
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.job.demo.rehearsal import Rehearsal
from coaxly.job.demo.tapping import Tapped
from coaxly.job.steps.nudge import Came, Nudge, Step
from coaxly.logger.rig.engine import Engine, Rig

GOAL = 0.5 * THOU
_MOST = 400
_DWELL_S, _RATE = 0.5, 50.0


class Hand:
    """An engine with a housing on slack bolts, a dial, and somebody who taps."""

    def __init__(self, seed):
        self.dice = random.Random(seed)
        self.rig = Rig(
            Engine(
                centre=polar(self.dice.uniform(4.5, 11.0) * THOU, self.dice.uniform(0.0, 360.0)),
                form=(
                    (2, self.dice.uniform(0.1, 0.5) * THOU, self.dice.uniform(0.0, 180.0)),
                    (3, 0.15 * THOU, self.dice.uniform(0.0, 120.0)),
                ),
                noise=0.1 * THOU,
                resolution=0.05 * THOU,
                drift=self.dice.uniform(-0.3, 0.3) * THOU / 3600.0,
            ),
            seed=seed,
        )
        self.t = 0.0

    def read(self, deg, n=25):
        """Readings of a dwell with the dial at `deg`, mm, and their times."""
        self.t = self.rig.turn_to(deg, self.t) + 1.0
        times = self.t + np.arange(n) / _RATE
        self.t = float(times[-1])
        return np.array([self.rig.reading(t) for t in times]), times

    def moved(self, x, y):
        """The housing goes somewhere."""
        self.rig.engine = self.rig.engine.moved((x, y))

    def taps(self, amount, towards):
        """A tap that was meant to carry it `amount` mm."""
        meant = max(amount, 0.1 * THOU)
        self.moved(*polar(meant * self.dice.uniform(0.4, 1.2), towards + self.dice.uniform(-15.0, 15.0)))
        self.t += 4.0

    @property
    def off(self):
        """How far the bore is off the crank now, mm."""
        return math.hypot(*self.rig.engine.centre)


def swept(hand, setup):
    """The aim after a sweep of eight stations and a closing one."""
    fitter = Fitter(setup)
    for deg in [*np.arange(0.0, 360.0, 45.0), 360.0]:
        fitter.add_station(deg % 360.0, *hand.read(float(deg)))
    result = fitter.result()
    return Aim.of(setup, result, corrected(setup, fitter.stations()))


def nudged(seed, dials=1):
    """Tap one engine home: (off before, off after, thou; taps; times the crank was parked)."""
    hand = Hand(seed)
    before = hand.off
    aim = swept(hand, Setup(closing=True))
    if seed % 3 == 0:
        hand.rig.engine = type(hand.rig.engine)(
            **{**vars(hand.rig.engine), "mean": hand.rig.engine.mean + 1.7}
        )
    nudge = Nudge(aim, dials=dials)
    taps = parks = 0
    beside = hand.dice.gauss(0.0, 4.0)
    for _ in range(_MOST):
        at = nudge.deg + beside
        readings = tuple(float(hand.read(at + 90.0 * k)[0].mean()) for k in range(dials))
        go = nudge.live(readings)
        if nudge.step is Step.TAP and go is not None and not go.within:
            hand.taps(go.amount, go.towards_deg)
            taps += 1
            continue
        was, came = nudge.deg, nudge.taken(readings)
        if came is Came.TIED:
            hand.moved(hand.dice.uniform(-0.4, 0.4) * THOU, -hand.dice.uniform(0.0, 1.5) * THOU)
        elif came is Came.BOTH_RIGHT:
            hand.moved(hand.dice.gauss(0.0, 0.1) * THOU, hand.dice.gauss(0.0, 0.1) * THOU)
        elif came is Came.HELD:
            break
        if nudge.deg != was:
            beside, parks = hand.dice.gauss(0.0, 4.0), parks + 1
    else:
        raise AssertionError(f"seed {seed}: no end after {taps} taps")
    return before / THOU, hand.off / THOU, taps, parks


def played(seed, dials=1):
    """The same on the built-in engine of the program, over its serial line, in simulated time; no tap is
    counted. The engine's dial drifts by up to .4 thou in 20 s."""
    with tempfile.TemporaryDirectory() as folder:
        job = Rehearsal(seed, 1.0, Path(folder))
        before = math.hypot(*job.engine.centre)

        async def play():
            found = job.act("found")
            await found.play()
            tapped = Tapped(job, found.pipeline, dials=dials)
            await tapped.play()

        clockwork.run(play())
        return before / THOU, math.hypot(*job.engine.centre) / THOU, math.nan, math.nan


def main() -> None:
    """Print the shares."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=100)
    parser.add_argument("--dials", type=int, choices=(1, 2), default=1)
    parser.add_argument("--from", type=int, default=0, dest="first")
    parser.add_argument("--built-in", action="store_true", help="the program's own engine, over its line")
    asked = parser.parse_args()
    one = played if asked.built_in else nudged
    seeds = range(asked.first, asked.first + asked.seeds)
    before, after, taps, parks = np.array([one(seed, asked.dials) for seed in seeds]).T
    within = int((after <= GOAL / THOU).sum())
    print(f"{asked.dials} dial(s): {within} of {asked.seeds} end within 0.5 thou of the crank;"
          f" off-centre {np.median(before):.1f} -> {np.median(after):.2f} thou (median), worst {after.max():.2f};"
          f" {np.median(taps):.0f} taps, crank parked anew {np.median(parks):.0f} times")  # fmt: skip


if __name__ == "__main__":
    main()
