"""Going on with a sweep that was broken off: by a crash, a flat battery, a closed lid."""

from pathlib import Path

from coaxly.fitter.geometry import EnteredDeg
from coaxly.logger.angle.encoder import AngleError
from coaxly.logger.angle.source import stations_due
from coaxly.logger.clock import Clock, PaperClock, SessionClock
from coaxly.logger.errors import RecordingError
from coaxly.logger.profile import Profile
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import (
    ENCODER,
    INDICATOR,
    OPPOSITE,
    End,
    Note,
    Record,
    ResultRecord,
    Station,
    Undo,
)
from coaxly.logger.recording.writer import RecordingWriter

from ...entry.keyring import own_key
from ...errors import RUN_ERRORS, UsageError
from ..recorded.pipeline import RESUMED, Pipeline
from .request import TYPED
from .run import SweepRun
from .schedule import ONE_MORE, ONE_MORE_BACK, Plan, Schedule, against, step_places

_GAP_S = 1.0
"""Session time between the last record and the first new one, beyond a dwell: none reaches across."""


def resume(path: Path, *, paper: bool = False) -> tuple[SweepRun, list[str], Profile]:
    """The sweep as it stood, ready to go on: the run, the ports it needs, and the indicator's profile. paper:
    what is to come was written down, and bears no times of its own.

    Raises LoggerError or UsageError in words.
    """
    with RecordingReader(path) as reader:
        pipeline, schedule, last = _so_far(reader)
    pipeline.damage = reader.damage
    ports = [INDICATOR]
    if pipeline.pairing.mode == "encoder":
        ports.append(ENCODER)
    if OPPOSITE in pipeline.decoders:
        ports.append(OPPOSITE)
    # What was just counted stays in the file, and what was not is cut away: the last line, if it was
    # broken off, by the same judgement.
    signer = own_key()
    writer = RecordingWriter.resume(path, keep_last=lambda tail: reader.torn is None)
    writer.signer = signer
    # On paper the rest follows as it would have without the break.
    even = paper and pipeline.profile.name == TYPED
    gone_on = round(last + pipeline.setup.dwell_s + _GAP_S, 6)
    clock: Clock = PaperClock(last) if even else SessionClock(start=gone_on)
    title = f"{reader.header.job or 'sweep'}, as {reader.header.stage or 'recorded'} (resumed)"
    run = SweepRun(title, pipeline, writer, clock, schedule)
    run.note(RESUMED)
    return run, ports, pipeline.profile


def read_so_far(path: Path) -> tuple[int, int] | None:
    """Stations read and all there are, of a sweep that was left off; None where angles come by themselves,
    or where it cannot be told."""
    try:
        with RecordingReader(path) as reader:
            pipeline, schedule, _ = _so_far(reader)
    except (*RUN_ERRORS, UsageError):
        return None
    read = len(pipeline.fitter.stations())
    return None if pipeline.angle.mode != "entered" else (read, read + len(schedule))


def _so_far(reader: RecordingReader) -> tuple[Pipeline, Schedule, float]:
    """What was read, what is still due, and the time of the last record, s. Raises LoggerError, and
    UsageError where it is finished."""
    pipeline = Pipeline(reader.header)
    schedule, last = Schedule(_plan(reader, pipeline)), 0.0
    for block in reader.blocks():
        for record in block:
            if isinstance(record, ResultRecord | End):
                raise UsageError(f"{reader.path} is finished: start a new sweep")
            before = len(pipeline.fitter.stations())
            pipeline.feed((record,))
            last = max(last, getattr(record, "t", 0.0))
            _follow(schedule, record, len(pipeline.fitter.stations()) - before)
    return pipeline, schedule, last


def _plan(reader: RecordingReader, pipeline: Pipeline) -> Plan:
    try:
        stations = stations_due(reader.header.angle)
    except AngleError as error:
        raise RecordingError(reader.path, 1, str(error)) from error
    setup = pipeline.setup
    return Plan(
        stations,
        closing=setup.closing,
        against=against(pipeline.angle.turn, setup),
        places=step_places(setup),
    )


def _follow(schedule: Schedule, record: Record, more: int) -> None:
    """What a record of the past did to what is due; more: stations that came of it."""
    if isinstance(record, Station) and more > 0:
        schedule.read(EnteredDeg(record.deg))
    elif isinstance(record, Undo) and more < 0:
        schedule.undo()
    elif isinstance(record, Note) and record.text in (ONE_MORE, ONE_MORE_BACK):
        schedule.add_turn(back=record.text == ONE_MORE_BACK)
