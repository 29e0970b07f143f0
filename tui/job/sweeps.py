"""Recordings of a job: which are finished and not in its journal yet, and which were left off."""

from dataclasses import dataclass
from pathlib import Path

from coaxly.fitter import Result
from coaxly.fitter.withheld import doubted
from coaxly.logger.reader import RecordingReader
from coaxly.logger.records import Header
from coaxly.logger.seals import last_seal

from ..errors import RUN_ERRORS
from .journal import Answer, Sweep, now
from .pipeline import replay
from .resume import read_so_far, unfinished
from .shop import Job, stem_of

STAGES = ("found", "left")


def swept(path: Path, header: Header, result: Result | None) -> Sweep:
    """The journal's record of a finished recording. Raises LoggerError."""
    seal = last_seal(path)
    return Sweep(
        time=now(),
        operator=header.operator,
        file=path.name,
        stage=header.stage,
        feature=header.feature,
        seal=seal.sha256 if seal is not None else "",
        answer=None if result is None else answer_of(result),
    )


def answer_of(result: Result) -> Answer:
    """What a sweep came to, short."""
    decision, ecc = result.decision, result.eccentricity
    u95, kinds = 2.0 * ecc.u95_amount, doubted(result)
    return Answer(result.tir.fitted, u95, decision.limit, decision.state, ecc.detected, kinds)


def catch_up(job: Job) -> list[str]:
    """Note finished recordings that the journal does not know: the program ended between the last byte of
    one and its note. Returns their names. Raises UsageError or Failure."""
    known = {record.file for record in job.records() if isinstance(record, Sweep)}
    found = []
    for path in job.recordings():
        if path.name in known:
            continue
        try:
            with RecordingReader(path) as reader:
                if reader.header.stage not in STAGES:
                    continue  # such as of a nudge, which is long, and there to stay
            if unfinished(path):
                continue
            pipeline = replay(path)
            if pipeline.stored_result is None:
                continue
            found.append((pipeline.header.created, swept(path, pipeline.header, pipeline.result())))
        except RUN_ERRORS:
            continue
    for _, record in sorted(found, key=lambda each: each[0]):
        job.note(record)
    return [record.file for _, record in found]


@dataclass(frozen=True, slots=True)
class LeftOff:
    """The sweep that is due was begun and left off. read, of: stations, None where they are not counted."""

    path: Path
    read: int | None = None
    of: int | None = None


def left_off(job: Job, step: str, feature: str) -> LeftOff | None:
    """Whether the sweep that a step asks for was begun: the newest recording of its kind was left off."""
    if not step.startswith("sweep "):
        return None
    begun = _begun(job, step.removeprefix("sweep "), feature)
    if not begun or not unfinished(begun[-1]):
        return None
    counted = read_so_far(begun[-1])
    return LeftOff(begun[-1]) if counted is None else LeftOff(begun[-1], *counted)


def broken_off(job: Job, stage: str, feature: str) -> list[Path]:
    """Recordings of the job that were left off and can go on, the newest last."""
    return [path for path in _begun(job, stage, feature) if unfinished(path)]


def _begun(job: Job, stage: str, feature: str) -> list[Path]:
    """The recordings that bear such a name and a number, the newest last."""
    stem = f"{stem_of(stage, feature)}-"
    named = [path for path in job.recordings() if path.stem.startswith(stem)]
    numbers = ((path.stem.removeprefix(stem), path) for path in named)
    return [path for _, path in sorted((int(number), path) for number, path in numbers if number.isdecimal())]
