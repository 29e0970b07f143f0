"""A table of readings put through the sweep that a person at the crank would have made."""

import asyncio
from collections.abc import Sequence
from typing import Final

from coaxly.fitter.geometry import EnteredDeg
from coaxly.logger.clock import PaperClock

from .. import output
from ..entry.papers import Written
from ..job.sweep.news import News, What
from ..job.sweep.run import SweepRun
from ..job.sweep.schedule import Plan
from ..say.sweep.news import told

EVEN: Final = "no times were: the readings stand a second apart"
"""Note that a recording of a paper keeps."""


def plan_of(rows: Sequence[Written]) -> Plan:
    """What was read, in its order; back at the first place at the end is a closing reading."""
    places = tuple(EnteredDeg(row.deg or 0.0) for row in rows)
    closing = places[0] % 360.0 == places[-1] % 360.0
    return Plan(stations=len(places) - closing, closing=closing, places=places)


async def read_in(run: SweepRun, rows: Sequence[Written], source: str, unit: str) -> None:
    """Type all of them. Raises LoggerError or FitterError."""

    def said(news: News) -> None:
        if news.what is not What.TAKEN:
            output.message(told(news, unit))

    run.listen(said)
    sweep = asyncio.create_task(run.run({}))
    await asyncio.sleep(0)
    run.note(f"read from {source}, as it was written down; {EVEN}")
    for row in rows:
        if isinstance(clock := run.session.clock, PaperClock):
            clock.next()
        run.typed(row.text, row.deg)
    run.finish()
    await sweep
