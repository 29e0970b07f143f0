"""Readings out of a table go through the same sweep as if a person typed them at the crank."""

from collections.abc import Sequence
from typing import Final

from coaxly.fitter.geometry import EnteredDeg

from .. import output
from ..entry.papers import Written
from ..job.recorded.slips import Slip
from ..job.sweep.news import News, What
from ..job.sweep.run import SweepRun
from ..job.sweep.schedule import Plan
from ..job.sweep.told import typed_in
from ..say.sweep.sweepwords import slip_words, told

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
        if isinstance(news.doubt, Slip):  # whoever wrote it down cannot undo it here
            number = len(run.pipeline.fitter.stations())
            output.message(slip_words(news.doubt, unit, f"reading {number} of {source}"))
        elif news.what is not What.TAKEN:
            output.message(told(news, unit))

    run.listen(said)
    note = f"read from {source}, as it was written down; {EVEN}"
    await typed_in(run, ((row.text, row.deg) for row in rows), note)
