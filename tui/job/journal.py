"""The memory of a job: its journal, JSON Lines, append-only and sealed as a recording is.

Every record says when (UTC) and who. What a job has come to is a fold over them (`progress`); unknown kinds
and keys are skipped, for later versions may add both.
"""

import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any, Final

import msgspec
from msgspec import Meta

from logger.errors import RecordingError, WriteError
from logger.files import open_regular
from logger.writer import RecordingWriter

from ..errors import Failure, UsageError

NAME: Final = "journal.jsonl"
_PATIENCE_S: Final = 10.0
_LARGEST: Final = 1 << 26

Dowels = tuple[tuple[float, float], ...]
"""Offset (mm) and direction of the high side (degrees, seen from behind), of each of two dowels; () for
straight ones."""


class Entry(msgspec.Struct, frozen=True, tag_field="kind", omit_defaults=True, kw_only=True):
    """What every record holds. time: UTC, ISO 8601. operator: who did it, "" where nobody said."""

    time: str = ""
    operator: str = ""


class Opened(Entry, frozen=True, tag="opened"):
    """The job was begun. face: whether a face is part of it, which then comes first."""

    title: str
    face: bool = False


class Answer(msgspec.Struct, frozen=True, omit_defaults=True):
    """What a sweep came to when it was made: run-out and its 95 % half-width, the limit, mm, and
    "inside", "outside" or "unsure". direction: whether it told which way the housing is off."""

    tir: float
    u95: float
    limit: float
    state: str
    direction: bool = True


class Sweep(Entry, frozen=True, tag="sweep"):
    """A finished recording of the job's folder.

    seal: the SHA-256 of its last seal that holds, "" where it has none.
    """

    file: str
    stage: str
    feature: str = "bore"
    seal: str = ""
    answer: Answer | None = None


class Chosen(Entry, frozen=True, tag="chosen"):
    """One of the options that were shown was taken.

    which: its number, from 1. dowels: it asks for these. promise: what it promised.
    """

    which: int
    options: tuple[dict[str, Any], ...] = ()
    dowels: Dowels = ()
    promise: dict[str, Any] = {}


class Fitted(Entry, frozen=True, tag="fitted"):
    """What was really put in. marks: where the marks point, degrees seen from behind."""

    dowels: Dowels = ()
    marks: tuple[float, ...] = ()


class Shimmed(Entry, frozen=True, tag="shimmed"):
    """Shims under the face: direction (degrees, seen from behind) and thickness (mm) of each; () for none."""

    shims: tuple[tuple[float, float], ...] = ()


class Nudged(Entry, frozen=True, tag="nudged"):
    """The housing, without dowels, was tapped into place.

    sweep: the recording that was gone by. files: recordings of the tapping.
    remaining: what was last to go towards the high point and a quarter turn on, mm.
    held: whether it was right, and held while the bolts were tightened.
    """

    sweep: str
    files: tuple[str, ...] = ()
    remaining: tuple[float, ...] = ()
    held: bool = False


class Proof(Entry, frozen=True, tag="proof"):
    """Two sweeps were compared with what was fitted.

    cause: what is believed to have happened, with its probability.
    state: of the sweep as left: "inside", "outside", "unsure".
    explanations: every cause that was weighed, with its probability.
    """

    found: str
    left: str
    cause: str
    probability: float
    state: str
    tir: float = 0.0
    explanations: tuple[tuple[str, float], ...] = ()


class Note(Entry, frozen=True, tag="note"):
    """Words of a person."""

    text: str


class Photo(Entry, frozen=True, tag="photo"):
    """A picture that was copied into the job's folder."""

    file: str


class Reported(Entry, frozen=True, tag="reported"):
    """A report was written."""

    file: str = ""


class Closed(Entry, frozen=True, tag="closed"):
    """Nothing more is to be done."""


Record = Opened | Sweep | Chosen | Fitted | Shimmed | Nudged | Proof | Note | Photo | Reported | Closed

_decoder: Final = msgspec.json.Decoder(Record)
_whole: Final = msgspec.json.Decoder(Annotated[dict[str, Any], Meta()])


def now() -> str:
    """The time of a record."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def read(path: Path) -> list[Record]:
    """The records of a journal, in order; none where there is no file. Lines that this version cannot read
    are passed over, seals and half a last line among them. Raises UsageError."""
    try:
        with open_regular(path) as file:
            data = file.read(_LARGEST)
    except FileNotFoundError:
        return []
    except OSError as error:
        raise UsageError(f"{path}: {error.strerror or error}") from error
    return decoded(data)


def decoded(data: bytes) -> list[Record]:
    """The records in the bytes of a journal, whatever else they hold."""
    records: list[Record] = []
    for line in data.split(b"\n"):
        try:
            records.append(_decoder.decode(line))
        except (msgspec.MsgspecError, RecursionError, UnicodeDecodeError):
            continue
    return records


def append(path: Path, record: Record) -> None:
    """Add one record, sealed and on the disk when this returns; the journal is begun where there is none.

    Another program that writes at the same moment is waited for. Half a line that a power cut left is cut
    away first. Raises UsageError or Failure.
    """
    try:
        path.touch()
        with _writer(path) as writer:
            writer.write(record)
    except WriteError as error:
        raise Failure(
            f"cannot write {path}: {error.cause.strerror or error.cause}: it is not noted"
        ) from error
    except OSError as error:
        raise Failure(f"cannot write {path}: {error.strerror or error}: it is not noted") from error


def _writer(path: Path) -> RecordingWriter:
    until = time.monotonic() + _PATIENCE_S
    while True:
        try:
            return RecordingWriter.resume(path, keep_last=_ends_with_a_record(path))
        except RecordingError as error:
            if time.monotonic() > until:
                raise UsageError(f"{path}: another program is writing it: close that first") from error
            time.sleep(0.01)


def _ends_with_a_record(path: Path) -> bool:
    """Whether the last line lacks only its end."""
    last = path.read_bytes().rpartition(b"\n")[2]
    try:
        _whole.decode(last)
    except (msgspec.MsgspecError, RecursionError, UnicodeDecodeError):
        return False
    return True
