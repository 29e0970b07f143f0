"""A new sweep from what was asked for: its header, recording, pipeline and run."""

import re
from pathlib import Path

from msgspec import UNSET

from coaxly.logger.clock import Clock, SessionClock
from coaxly.logger.errors import WriteError
from coaxly.logger.recording.records import Header
from coaxly.logger.recording.writer import RecordingWriter

from ...entry.keyring import own_key
from ...errors import UsageError
from ..folder.journal import NAME as JOURNAL
from ..folder.journal import read
from ..folder.shop import free_recording
from ..recorded.header import new_header
from ..recorded.pipeline import Pipeline
from .request import SweepRequest
from .run import SweepRun


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
