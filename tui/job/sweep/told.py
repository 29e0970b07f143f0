"""A sweep that was made with a plain dial, of which two numbers are left, as a recording like any other."""

import asyncio
from collections.abc import Iterable
from dataclasses import dataclass, replace

from coaxly.fitter.reading.twonumbers import KEYS, circle
from coaxly.logger.angle.source import Source
from coaxly.logger.clock import PaperClock
from coaxly.logger.profile import load

from ...errors import UsageError
from .begin import begin
from .request import TYPED, SweepRequest
from .run import SweepRun
from .schedule import Plan

_FEATURES = ("bore", "face")


@dataclass(frozen=True, slots=True)
class TwoNumbers:
    """tir: largest less smallest reading, mm. high_deg: where it is largest, clockwise from behind."""

    tir: float
    high_deg: float


async def told(request: SweepRequest, numbers: TwoNumbers) -> SweepRun:
    """The recording of them, finished. request: as of a sweep; its dial and stations count for nothing.

    Raises LoggerError, FitterError or UsageError.
    """
    setup = replace(request.setup, **KEYS)
    if setup.feature not in _FEATURES:
        raise UsageError(f"two numbers tell of a bore or a face, not of a {setup.feature}")
    if not 0.0 < numbers.tir <= setup.limit_mm * _MOST_LIMITS:
        raise UsageError(f"a TIR is more than 0, and less than {_MOST_LIMITS:g} times the limit")
    rows = [(setup.entered_deg(deg), value) for deg, value in circle(numbers.tir, numbers.high_deg)]
    stops = Plan(len(rows), closing=False, places=tuple(deg for deg, _ in rows))
    dial = Source("", load(TYPED))
    asked = replace(request, dial=dial, opposite=None, encoder=None, mode="entered", plan=stops, setup=setup)
    run = begin(asked, PaperClock())
    note = f"two numbers: {numbers.tir:.4f} mm, {numbers.high_deg:.0f} deg"
    await typed_in(run, ((f"{value:.6f} mm", deg) for deg, value in rows), note)
    return run


_MOST_LIMITS = 100.0
"""Beyond so many limits a number is no swing of a dial that was meant."""


async def typed_in(run: SweepRun, rows: Iterable[tuple[str, float | None]], note: str) -> None:
    """Put what was written down through the sweep that a person at the crank would have made. rows: readings
    with their unit, and where, as the scale counts. Raises LoggerError or FitterError."""
    sweep = asyncio.create_task(run.play())
    await asyncio.sleep(0)
    run.note(note)
    for text, deg in rows:
        if isinstance(clock := run.session.clock, PaperClock):
            clock.next()
        run.typed(text, deg)
    run.finish()
    await sweep
