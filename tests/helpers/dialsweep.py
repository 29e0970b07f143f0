"""Many dials swept at once: each on a pseudo-terminal of its own, by the way of a live sweep, in simulated time."""

import asyncio
import contextlib
import math

import carrying
from clockwork import until
from ptyline import line

from coaxly.fitter import Setup
from coaxly.job.sweep.begin import begin
from coaxly.job.sweep.linestate import LinkState
from coaxly.job.sweep.request import SweepRequest
from coaxly.job.sweep.schedule import Plan
from coaxly.logger.angle.source import Source

MIDDLE_MM, AMOUNT_MM, HIGH_DEG = 0.1, 0.3, 40.0
_REST_LINES, _PERIOD_S = 7, 0.1
"""Seven, so that what a dial says now and then in place of a reading does not always come last."""
_TURN_LINES = 120


def truth(deg):
    """What every dial reads where the crank stands, mm."""
    return round(MIDDLE_MM + AMOUNT_MM * math.cos(math.radians(deg - HIGH_DEG)), 4)


async def says(people, ports, deg):
    """A line of each dial, all on one crank."""
    said = [(fd, person.says(truth(deg), deg % 360.0)) for person, fd in zip(people, ports, strict=True)]
    await carrying.all_carried(said)
    await asyncio.sleep(_PERIOD_S)


async def swept(people, profiles, folder):
    """A sweep with each person's dial and the profile of it: the runs, finished."""
    with contextlib.ExitStack() as stack:
        lines = [stack.enter_context(line()) for _ in people]
        runs, playing = [], []
        for k, (person, profile, (_, url)) in enumerate(zip(people, profiles, lines, strict=True)):
            run = begin(
                SweepRequest(
                    dial=Source(url, profile), mode="combined" if person.dial.angle else "entered",
                    setup=Setup(), plan=Plan(), out=folder / f"{k}.jsonl",
                )
            )  # fmt: skip
            runs.append(run)
            playing.append(asyncio.create_task(run.play()))
        await until(lambda: all(run.view().link is not LinkState.WAITING for run in runs))
        ways = {False: _stopped_at, True: _turned}
        for way, turn in ways.items():
            which = [k for k, run in enumerate(runs) if run.continuous is way]
            await turn([people[k] for k in which], [lines[k][0] for k in which], [runs[k] for k in which])
        for run in runs:
            run.finish()
        await asyncio.gather(*playing)
    return runs


async def _stopped_at(people, ports, runs):
    """Stop at each place until all have read it."""
    for n, deg in enumerate(Plan().angles(), 1):
        for k in range(4 * _REST_LINES):
            await says(people, ports, deg)
            waiting = [run for run in runs if len(run.pipeline.fitter.stations()) < n]
            if not waiting:
                break
            for run in waiting if k % _REST_LINES == _REST_LINES - 1 else ():
                run.confirm()  # again where the dial has just said OVER


async def _turned(people, ports, _):
    """Once round, slowly."""
    for k in range(_TURN_LINES + 1):
        await says(people, ports, 360.0 * k / _TURN_LINES)
