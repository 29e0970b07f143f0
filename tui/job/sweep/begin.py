"""A new sweep from what was asked for: its header, recording, pipeline and run."""

import asyncio
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from msgspec import UNSET

from coaxly.fitter.reading.twonumbers import KEYS, circle
from coaxly.logger.angle.source import Source
from coaxly.logger.clock import Clock, PaperClock, SessionClock
from coaxly.logger.errors import WriteError
from coaxly.logger.profile import load
from coaxly.logger.recording.records import FORMAT, VERSION, Header
from coaxly.logger.recording.writer import RecordingWriter

from ...entry.keyring import own_key
from ...entry.names import is_text
from ...errors import UsageError
from ...version import __version__
from ..folder.journal import NAME as JOURNAL
from ..folder.journal import read
from ..folder.shop import free_recording
from ..recorded.pipeline import Pipeline
from .request import TYPED, SweepRequest
from .run import SweepRun
from .schedule import Plan


def new_header(**content: Any) -> Header:
    """A header of now, by this version; `content` are the other fields of `Header`.

    Raises UsageError where a person's words are bytes that are no text.
    """
    for key in ("job", "stage", "operator"):
        if not is_text(content.get(key, "")):
            raise UsageError(f"--{key} holds bytes that are no text (UTF-8): write it anew")
    return Header(
        format=FORMAT,
        version=VERSION,
        created=datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        software=__version__,
        **content,
    )


_MOST_LIMITS: Final = 100.0
"""Beyond so many limits a number is no swing of a dial that was meant."""


def begin(request: SweepRequest, clock: Clock | None = None) -> SweepRun:
    """The run, its recording begun. clock: of the session, from now on by default.

    Raises LoggerError, FitterError or UsageError in words; then no file was made.
    """
    if request.mode != "entered" and (request.opposite is not None or request.dial.profile.has_opposite):
        raise UsageError(
            "two indicators work with stations that are stopped at: leave --angle out, or read one indicator"
        )
    setup = request.setup_in_use
    header = new_header(
        feature=setup.feature,
        setup=setup.to_header(),
        instrument=request.dial.profile.to_header(),
        angle=request.angle.to_header(),
        job=request.job,
        stage=request.stage,
        operator=request.operator,
        journal=(read(request.out.with_name(JOURNAL)).seals.head if request.out else "") or UNSET,
        before=request.before.to_header() if request.before is not None else UNSET,
        earlier=request.earlier.to_header() if request.earlier is not None else UNSET,
    )
    pipeline = Pipeline(header)
    signer = own_key()
    writer = _writer(request, header)
    writer.signer = signer
    title = f"{request.job or 'sweep'}, as {request.stage}" if request.stage else request.job
    run = SweepRun(title, pipeline, writer, clock or SessionClock(), request.stops)
    run.sources = request.sources
    return run


def _writer(request: SweepRequest, header: Header) -> RecordingWriter:
    """The recording, begun; under the next name where another program took that one in the same moment and
    nobody asked for it. Raises LoggerError or UsageError."""
    out = request.out or free_path(request.job, stage_of(request))
    while True:
        try:
            return RecordingWriter(out, header)
        except WriteError as error:
            if not (request.any_number and isinstance(error.cause, FileExistsError)):
                raise
        out = free_recording(out.parent, out.stem.rpartition("-")[0])


def stage_of(request: SweepRequest) -> str:
    """What the name of a recording says beside the job: a face is told from a bore."""
    feature = request.setup.feature
    return request.stage if feature == "bore" else f"{feature}-{request.stage}"


def free_path(job: str, stage: str) -> Path:
    """A name in the current folder for a recording of this job and stage. Raises UsageError."""
    stem = re.sub(r"[^A-Za-z0-9_-]+", "-", f"{job or 'sweep'}-{stage}").strip("-")
    return free_recording(Path(), stem[:80] or "sweep")


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
