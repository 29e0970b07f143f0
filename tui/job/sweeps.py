"""Recordings of a job: which are finished and not in its journal yet, and the results of all jobs."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fitter import Result
from fitter.errors import FitterError
from logger.errors import LoggerError
from logger.records import Header
from logger.seals import last_seal

from .. import __version__
from ..errors import RUN_ERRORS, CommandError
from .index import Index
from .journal import Answer, Sweep, now
from .pipeline import replay
from .resume import unfinished
from .shop import Job

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
    decision = result.decision
    return Answer(result.tir.fitted, 2.0 * result.eccentricity.u95_amount, decision.limit, decision.state)


def catch_up(job: Job) -> list[str]:
    """Note finished recordings that the journal does not know: the program ended between the last byte of
    one and its note. Returns their names. Raises UsageError or Failure."""
    known = {record.file for record in job.records() if isinstance(record, Sweep)}
    found = []
    for path in job.recordings():
        if path.name in known:
            continue
        try:
            if unfinished(path):
                continue
            pipeline = replay(path)
            if pipeline.header.stage not in STAGES or pipeline.stored_result is None:
                continue
            found.append((pipeline.header.created, swept(path, pipeline.header, pipeline.result())))
        except RUN_ERRORS:
            continue
    for _, record in sorted(found, key=lambda each: each[0]):
        job.note(record)
    return [record.file for _, record in found]


def broken_off(job: Job, stage: str, feature: str) -> list[Path]:
    """Recordings of the job that were left off and can go on."""
    stem = stage if feature == "bore" else f"{feature}-{stage}"
    return [path for path in job.recordings() if path.name.startswith(f"{stem}-") and unfinished(path)]


@dataclass(frozen=True, slots=True)
class Found:
    """The bore of one job as found."""

    job: Job
    block: tuple[str, str]
    """Family and serial."""
    housing: tuple[str, str]
    path: Path
    result: dict[str, Any]
    """As `Result.to_dict` gives it."""


def found_sweeps(shop: Path) -> Iterator[Found]:
    """The sweeps as found of all jobs of a shop that were made with no dowels of ours in; a result comes from
    the index where it is there, else from the recording. What cannot be read is left out. Raises Failure."""
    with Index(shop) as index:
        for row in sorted(index.rows(), key=lambda row: row.folder):
            job = Job(shop / row.folder)
            try:
                now, known = job.state(), job.details
                if now.found is None or (now.before is not None and now.before.dowels):
                    continue
                path = job.file(now.found.file)
                result = result_of(index, path)
            except (LoggerError, FitterError, CommandError):
                continue
            block, housing = known.block, known.housing
            yield Found(job, (block.family, block.serial), (housing.family, housing.serial), path, result)


def result_of(index: Index, path: Path) -> dict[str, Any]:
    """The result of a recording, by the last seal that holds of its bytes as they are now.

    Raises LoggerError or FitterError.
    """
    seal = last_seal(path)
    kept = None if seal is None else index.result(seal.sha256, __version__)
    if kept is not None:
        return kept
    result = replay(path).result().to_dict()
    if seal is not None:
        index.keep(seal.sha256, __version__, result)
    return result
