"""Going on with a sweep that was broken off: by a crash, a flat battery, a closed lid."""

from pathlib import Path

from logger.clock import SessionClock
from logger.errors import RecordingError
from logger.profile import Profile
from logger.reader import RecordingReader
from logger.records import ENCODER, INDICATOR, OPPOSITE, ResultRecord, Station, Undo
from logger.writer import RecordingWriter

from .errors import UsageError
from .pipeline import Pipeline
from .stationplan import Plan
from .sweeprun import SweepRun

_GAP_S = 1.0
"""Session time between the last record and the first new one, so that no dwell reaches across."""


def resume(path: Path) -> tuple[SweepRun, list[str], Profile]:
    """The sweep as it stood, ready to go on: the run, the ports it needs, and the indicator's profile.

    Raises LoggerError or UsageError in words.
    """
    reader = RecordingReader(path)
    pipeline = Pipeline(reader.header)
    taken: list[float] = []
    last = 0.0
    for block in reader.blocks():
        for record in block:
            before = len(pipeline.fitter.stations())
            pipeline.feed((record,))
            last = max(last, getattr(record, "t", 0.0))
            if isinstance(record, ResultRecord):
                raise UsageError(f"{path} is finished: start a new sweep")
            if isinstance(record, Station) and len(pipeline.fitter.stations()) > before:
                taken.append(record.deg)
            elif isinstance(record, Undo) and taken:
                taken.pop()
    angle = reader.header.angle
    stations = angle.get("stations", 8)
    if isinstance(stations, bool) or not isinstance(stations, int) or not 3 <= stations <= 360:
        raise RecordingError(path, 1, f"angle.stations is {str(stations)[:20]}, but must be 3 to 360")
    ports = [INDICATOR]
    if pipeline.pairing.mode == "encoder":
        ports.append(ENCODER)
    if OPPOSITE in pipeline.decoders:
        ports.append(OPPOSITE)
    plan = Plan(stations, closing=pipeline.setup.closing)
    writer = RecordingWriter.resume(path)
    clock = SessionClock(start=round(last + _GAP_S, 6))
    title = f"{reader.header.job or 'sweep'}, as {reader.header.stage or 'recorded'} (resumed)"
    run = SweepRun(title, pipeline, writer, clock, plan, taken)
    run.note("resumed")
    return run, ports, pipeline.profile
