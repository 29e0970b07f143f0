"""Recordings of a job: which are finished and not in its journal yet, and which do not belong."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

import msgspec

from coaxly.fitter import Result
from coaxly.fitter.withheld import doubted
from coaxly.logger.recording.records import Header
from coaxly.logger.recording.seals import check_seals

from ...errors import RUN_ERRORS, UsageError
from ..folder import journal
from ..folder.journal import Answer, Journal, Sweep, now
from ..folder.snapshot import Recording, Snapshot, look
from ..recorded.consistency import Doubt
from ..recorded.pipeline import replay
from .leftoff import elsewhere, going_on, unfinished

ROUNDED_MM: Final = 0.006
"""By which one size may differ as it is said in thou and in mm."""

STAGES: Final = ("found", "left")
_OF_TAPPING: Final = "nudge"

Reason = Literal[
    "copy", "job", "journal", "stage", "late", "damaged", "unsealed", "no_result", "second", "unreadable"
]


@dataclass(frozen=True, slots=True)
class Stranger:
    """A recording in a job's folder that is not noted by itself.

    why: "copy" (the journal, or the folder, has it under another name), "job" (its header names another job),
        "journal" (begun when the job's journal held other lines), "stage" (neither found nor left), "late"
        (begun before the last thing that was done), "damaged" (changed since it was written), "unsealed",
        "no_result", "second" (another copy of the journal), "unreadable".
    what: the other name, job, stage or time, or what is wrong.
    """

    path: Path
    why: Reason
    what: str = ""


@dataclass(frozen=True, slots=True)
class Caught:
    """What came of a look into a job's folder.

    known: the job as it stands then. noted: the names of recordings that were noted now. strangers: the rest.
    """

    known: Snapshot
    noted: list[str]
    strangers: list[Stranger]


def swept(path: Path, header: Header, result: Result | None) -> Sweep:
    """The journal's record of a finished recording. Raises LoggerError."""
    return Sweep(
        time=now(),
        operator=header.operator,
        file=path.name,
        stage=header.stage,
        feature=header.feature,
        seal=check_seals(path).head,
        answer=None if result is None else answer_of(result),
    )


def answer_of(result: Result) -> Answer:
    """What a sweep came to, short."""
    decision, ecc = result.decision, result.eccentricity
    u95, kinds = 2.0 * ecc.u95_amount, doubted(result)
    return Answer(result.tir.fitted, u95, decision.limit, decision.state, ecc.detected, kinds)


def catch_up(known: Snapshot) -> Caught:
    """Note finished recordings that the journal does not know: the program ended between the last byte of
    one and its note. What does not belong is named and left alone. Raises UsageError or Failure."""
    found: list[tuple[str, Sweep]] = []
    strangers: list[Stranger] = []
    for name, each in known.recordings.items():
        if name in known.sweeps:
            continue
        try:
            stranger = stranger_in(known, each)
            if stranger is None and not unfinished(each.path):
                stranger = _into(found, each.path)
        except RUN_ERRORS as error:
            stranger = unreadable(each.path, error)
        strangers += [] if stranger is None else [stranger]
    found.sort(key=lambda each: each[0])
    noted = known.job.note_sweeps(*(record for _, record in found))
    return Caught(look(known.job) if found else known, noted, strangers)


def unreadable(path: Path, error: Exception) -> Stranger:
    """A file that is no recording: a second journal, as folders that are kept alike on several machines leave
    one, or what cannot be read."""
    try:
        if journal.read(path).begins_as_one:
            return Stranger(path, "second")
    except UsageError as other:
        error = other
    return Stranger(path, "unreadable", str(error).removeprefix(f"{path}: "))


def _into(found: list[tuple[str, Sweep]], path: Path) -> Stranger | None:
    """Put a recording that belongs among those to be noted, by the time it was begun."""
    pipeline = replay(path)
    if pipeline.header.stage == _OF_TAPPING:
        return None  # noted by what it came to
    if pipeline.stored is None:
        return Stranger(path, "no_result")
    record = swept(path, pipeline.header, pipeline.result())
    twin = next((each.file for _, each in found if each.seal == record.seal), None)
    if twin is not None:
        return Stranger(path, "copy", twin)
    found.append((pipeline.header.created, record))
    return None


def take_in(known: Snapshot, name: str, stage: str = "", *, anyway: bool = False) -> Sweep:
    """Note a recording of the folder that is not noted by itself, for somebody says that it belongs. stage:
    found or left, if not by its header. anyway: also where it names another job. Raises LoggerError,
    FitterError, UsageError or Failure."""
    if name != Path(name).name:
        raise UsageError(
            f"{name[:60]!r} is no file in the job's folder: give the bare name of one that lies in it"
        )
    path = known.file(name)
    if not path.is_file():
        raise UsageError(f"{path} is not there: put the recording into the job's folder first")
    if name in known.sweeps:
        raise UsageError(f"{name} is in the journal already: nothing is changed")
    stranger = stranger_in(known, known.recording(name))
    if stranger is not None and stranger.why in ("copy", "damaged"):
        twin = f"the journal knows it as {stranger.what}"
        raise UsageError(f"{name}: {twin if stranger.why == 'copy' else stranger.what}: it is not taken in")
    if stranger is not None and stranger.why == "job" and stranger.what and not anyway:
        raise UsageError(
            f"{name} was made for another job, {stranger.what[:60]!r}: "
            "it is taken in with --anyway only, and the report will say so"
        )
    if unfinished(path):
        raise UsageError(f"{name} was never finished: {going_on(path)}")
    pipeline = replay(path)
    record = swept(path, pipeline.header, pipeline.result())
    why = stranger.why if stranger is not None else ""
    record = msgspec.structs.replace(record, stage=stage or record.stage, taken=why)
    if record.stage not in STAGES:
        raise UsageError(f"{name} is of stage {record.stage[:40]!r}: say --stage found or --stage left")
    if not known.job.note_sweeps(record):
        raise UsageError(f"{name} is in the journal already: nothing is changed")
    return record


def is_other(sweep: Sweep, last_seal: str) -> bool:
    """Whether a recording is not the one that the journal noted by that name. last_seal: the hash of its last
    that holds, "" where there is none."""
    return bool(sweep.seal and last_seal and sweep.seal != last_seal)


def journal_changed(written: Journal) -> list[Doubt]:
    """Whether a seal of a job's journal is broken."""
    if not written.changed:
        return []
    return [Doubt.that("journal", path=str(written.path), what=written.seals.what)]


def not_noted(known: Snapshot, *sweeps: Sweep | None) -> list[Doubt]:
    """Whether a recording that is gone by was replaced by another whole one. Raises LoggerError."""
    found = []
    for sweep in sweeps:
        if sweep is not None and sweep.seal:
            there = known.recording(sweep.file)
            if there.seals.state == "ok" and is_other(sweep, there.seals.head):
                found.append(Doubt.that("not_noted", path=str(there.path)))
    return found


def stranger_in(known: Snapshot, recording: Recording) -> Stranger | None:
    """Why a recording that is not noted does not belong; None where nothing speaks against it. Raises
    LoggerError."""
    path, header, seals = recording.path, recording.header, recording.seals
    if seals.head in known.seals:
        return Stranger(path, "copy", known.seals[seals.head])
    if seals.state == "changed":
        return Stranger(path, "damaged", seals.what)
    if (why := elsewhere(known, header)) is not None:
        return Stranger(path, why, header.job)
    if seals.state in ("unfinished", "unsealed") and unfinished(path):
        return None  # it goes on, or can go on
    if header.stage not in (*STAGES, _OF_TAPPING):
        return Stranger(path, "stage", header.stage)
    if seals.state == "unsealed":
        return Stranger(path, "unsealed", seals.what)
    if header.stage in STAGES and header.created < known.last_done:
        return Stranger(path, "late", header.created)
    return None
