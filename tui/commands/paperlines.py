"""A table of readings put through the sweep that a person at the crank would have made."""

import asyncio
from collections.abc import Sequence

from fitter.geometry import EnteredDeg

from .. import output
from ..entry.papers import Written
from ..job.news import News, What
from ..job.schedule import Plan
from ..job.sweep import SweepRun
from ..say.news import told


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
    run.note(f"read from {source}, as it was written down")
    for row in rows:
        run.typed(row.text, row.deg)
    run.finish()
    await sweep
