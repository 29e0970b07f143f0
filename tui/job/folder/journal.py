"""The memory of a job: its journal, JSON Lines, append-only and sealed as a recording is.

Every record says when (UTC) and who. What a job has come to is a fold over them (`progress`); unknown kinds
and keys are skipped, for later versions may add both.
"""

import io
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path
from typing import Any, Final, Literal

import msgspec

from coaxly.logger.durable import force_names
from coaxly.logger.errors import BeingWritten, RecordingError, WriteError
from coaxly.logger.files import read_small
from coaxly.logger.recording import records as recording
from coaxly.logger.recording.seals import SealReport, seals_in
from coaxly.logger.recording.writer import RecordingWriter

from ...entry.keyring import own_key
from ...errors import Failure, UsageError, reading
from .journalmarks import seals_of

NAME: Final = "journal.jsonl"
_PATIENCE_S: Final = 10.0
_FIRST_LINE: Final = 1 << 16
_LARGEST: Final = 1 << 26
_ROOM: Final = 1 << 20
"""Left free below that, so that what is added never makes a journal that cannot be read."""
_BEGIN: Final = b'{"kind":"'
"""What every line of ours begins with."""

Dowels = tuple[tuple[float, float], ...]
"""Offset (mm) and direction of the high side (degrees, seen from behind), of each of two dowels; () for
straight ones."""


class Entry(msgspec.Struct, frozen=True, tag_field="kind", omit_defaults=True, kw_only=True):
    """What every record holds. time: UTC, ISO 8601. operator: who did it, "" where nobody said."""

    time: str = ""
    operator: str = ""


class Opened(Entry, frozen=True, tag="opened"):
    """The job was begun.

    face: whether a face is part of it, which then comes first.
    said: what stood in job.toml then, by its keys.
    id: drawn by lot, so that no two journals begin alike.
    """

    title: str
    face: bool = False
    said: dict[str, Any] = {}
    id: str = ""


class Answer(msgspec.Struct, frozen=True, omit_defaults=True):
    """What a sweep came to when it was made: run-out and its 95 % half-width, the limit, mm, and
    "inside", "outside" or "unsure". direction: whether it told which way the housing is off. doubts: kinds
    of what forbade a verdict, or to fit anything by it (`fitter.withheld`)."""

    tir: float
    u95: float
    limit: float
    state: str
    direction: bool = True
    doubts: tuple[str, ...] = ()


class Sweep(Entry, frozen=True, tag="sweep"):
    """A finished recording of the job's folder.

    seal: the SHA-256 of its last seal that holds, "" where it has none.
    taken: why it was not noted by itself (a kind of `sweeps.Stranger`), where somebody took it in by name.
    """

    file: str
    stage: str
    feature: str = "bore"
    seal: str = ""
    answer: Answer | None = None
    taken: str = ""


class Chosen(Entry, frozen=True, tag="chosen"):
    """One of the options that were shown was taken.

    which: its number, from 1. dowels: it asks for these. promise: what it promised.
    """

    which: int
    options: tuple[dict[str, Any], ...] = ()
    dowels: Dowels = ()
    promise: dict[str, Any] = {}


class Fitted(Entry, frozen=True, tag="fitted"):
    """What was really put in. marks: where the marks point, degrees seen from behind. slip: what was said
    before was one, and these were in then. sweep: the one as left that hung on it, "" for none: it is left
    out by what went in since, and counts where that was a slip."""

    dowels: Dowels = ()
    marks: tuple[float, ...] = ()
    slip: bool = False
    sweep: str = ""


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


def moves(record: object) -> bool:
    """Whether the housing sits elsewhere since: what was swept before tells nothing of how it sits now."""
    return isinstance(record, Fitted | Shimmed | Nudged) and not (isinstance(record, Fitted) and record.slip)


class Proof(Entry, frozen=True, tag="proof"):
    """Two sweeps were compared with what was fitted.

    cause: what is believed to have happened, with its probability.
    state: of the sweep as left: "inside", "outside", "unsure".
    explanations: every cause that was weighed, with its probability.
    among: those that are believed, with where the high sides belong (degrees, seen from behind).
    """

    found: str
    left: str
    cause: str
    probability: float
    state: str
    tir: float = 0.0
    explanations: tuple[tuple[str, float], ...] = ()
    among: tuple[tuple[str, tuple[float, ...]], ...] = ()


class Note(Entry, frozen=True, tag="note"):
    """Words of a person."""

    text: str


class Photo(Entry, frozen=True, tag="photo"):
    """A picture that was copied into the job's folder. sha256: of its bytes."""

    file: str
    sha256: str = ""


class Changed(Entry, frozen=True, tag="changed"):
    """Keys of job.toml were changed through the program, or what stands there by hand was agreed to.

    said: their new values, "" where there is none any more.
    """

    said: dict[str, Any]


class Reported(Entry, frozen=True, tag="reported"):
    """A report was written. file: its name in the job's folder, else its whole path. sha256: of its bytes."""

    file: str = ""
    sha256: str = ""


class Packed(Entry, frozen=True, tag="packed"):
    """The job as it was then was packed. file: where to. sha256: of its bytes."""

    file: str
    sha256: str


class Closed(Entry, frozen=True, tag="closed"):
    """Nothing more is to be done."""


class Unproved(Entry, frozen=True, tag="unproved"):
    """Lines that no seal spoke for when the journal was next written; the seals after this one hold them as
    they were then, which says nothing of who wrote them.

    first, last: their numbers, from 1. state: "unsealed" (whole lines after the last seal: a crash leaves
    such, or a hand), "changed" (a seal is broken), "no_record" (bytes that no record begins with, which were
    cut away). found: what the seals say, in words.
    """

    first: int
    last: int
    state: Literal["unsealed", "changed", "no_record"] = "unsealed"
    found: str = ""


Record = (
    Opened
    | Sweep
    | Chosen
    | Fitted
    | Shimmed
    | Nudged
    | Proof
    | Note
    | Photo
    | Changed
    | Reported
    | Packed
    | Closed
    | Unproved
)

_decoder: Final[msgspec.json.Decoder[Record]] = msgspec.json.Decoder(Record)
_whole: Final = msgspec.json.Decoder(dict[str, Any])


def now() -> str:
    """The time of a record."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


@dataclass(frozen=True)
class Journal:
    """A journal as it was read, once; what is in it is worked out where it is asked for.

    data: its bytes; none where there is no file.
    """

    path: Path
    data: bytes = field(default=b"", repr=False)

    @cached_property
    def records(self) -> tuple[Record, ...]:
        """In order. Lines that this version cannot read are passed over, seals and half a last line among
        them."""
        return tuple(decoded(self.data))

    @cached_property
    def seals(self) -> SealReport:
        """What its seals say."""
        return seals_in(io.BytesIO(self.data))

    @cached_property
    def heads(self) -> frozenset[str]:
        """The hashes of its seals that hold: each was its end at some time, by which recordings know it."""
        return frozenset(seals_of(self.data))

    @property
    def begins_as_one(self) -> bool:
        """Whether its first line is a record of a job, and not that of a recording."""
        return bool(decoded(self.data[:_FIRST_LINE].partition(b"\n")[0]))

    @property
    def changed(self) -> bool:
        """Whether a seal is broken."""
        return self.seals.state == "changed"

    @property
    def unproved(self) -> list[Unproved]:
        """Everything in it that its seals do not prove: what was noted so, and what would be if it were
        written now."""
        noted = [record for record in self.records if isinstance(record, Unproved)]
        tail = self.data.rpartition(b"\n")[2]
        if tail and _is_record(tail):
            now_so = _unproved(self.data + b"\n", b"")
        else:
            now_so = _unproved(self.data[: len(self.data) - len(tail)], tail)
        return list({(each.first, each.state): each for each in [*noted, *now_so]}.values())


def read(path: Path) -> Journal:
    """A journal; an empty one where there is no file. Raises UsageError."""
    with reading(path), suppress(FileNotFoundError):
        return Journal(path, read_small(path, _LARGEST))
    return Journal(path)


def decoded(data: bytes) -> list[Record]:
    """The records in the bytes of a journal, whatever else they hold."""
    records = (recording.decoded(_decoder, line) for line in data.split(b"\n"))
    return [record for record in records if record is not None]


def append(
    path: Path, *records: Record, fits: Callable[[Sequence[Record], Record], bool] | None = None
) -> list[Record]:
    """Add records, sealed and on the disk when this returns; the journal is begun where there is none.
    Returns those that were added.

    fits(known, record): asked while nobody else can write, with what the journal holds by then; what does not
    fit is left out. Another program that writes at the same moment is waited for. Half a line that a power
    cut left is cut away first. Lines that no seal speaks for are noted before the new seal covers them. All
    is signed where this workshop has a key. Raises UsageError, KeyFileError or Failure.
    """
    try:
        signer = own_key()
        if not _begun(path, [record for record in records if fits is None or fits([], record)]):
            return []
        with _held(path) as writer:
            data = writer.written()
            writer.signer, since, known = signer, writer.lines + 1, decoded(data)
            fitting = [record for record in records if fits is None or fits(known, record)]
            if not fitting and not writer.tail:
                writer.abandon()  # nothing was added: no seal over what another hand may have written
                return []
            for record in (*_unproved(data, writer.tail), *fitting):
                writer.write(record)
            writer.sign(since)
            return fitting
    except RecordingError as error:
        raise UsageError(str(error)) from error
    except (OSError, WriteError) as error:
        cause = error.cause if isinstance(error, WriteError) else error
        raise Failure(f"cannot write {path}: {cause.strerror or cause}: it is not noted") from error


def _begun(path: Path, first: Sequence[Record]) -> bool:
    """Whether there is a journal to add to; one is begun where there is anything to begin it with. Raises
    OSError, UsageError also where it has grown too large to be read again."""
    try:
        size = path.stat().st_size
    except FileNotFoundError:
        if first:
            path.touch()
            force_names(path.parent)
        return bool(first)
    if size > _LARGEST - _ROOM:
        raise UsageError(
            f"{path} is full ({size >> 20} MiB): nothing was noted; begin another job for what is still to do"
        )
    return True


def _unproved(data: bytes, tail: bytes) -> list[Unproved]:
    """What is to be noted of a journal before it is sealed again. data: its whole lines. tail: half a line
    that was cut away."""
    seals, found, lines = seals_in(io.BytesIO(data)), [], data.count(b"\n")
    first = seals.sealed_lines + 1
    if seals.state == "changed":
        found.append(Unproved(time=now(), first=first, last=lines, state="changed", found=seals.what))
    elif first <= lines:
        found.append(Unproved(time=now(), first=first, last=lines))
    if tail and not (tail.startswith(_BEGIN) or _BEGIN.startswith(tail)):
        found.append(Unproved(time=now(), first=lines + 1, last=lines + 1, state="no_record"))
    known = {(old.first, old.state) for old in decoded(data) if isinstance(old, Unproved)}
    # A seal once broken stays so: that is noted once.
    return [each for each in found if each.state != "changed" or (each.first, each.state) not in known]


@contextmanager
def _held(path: Path) -> Iterator[RecordingWriter]:
    """The journal opened to be added to, while nobody else can write."""
    try:
        writer = RecordingWriter.resume(path, keep_last=_is_record, patience_s=_PATIENCE_S)
    except BeingWritten as error:
        raise UsageError(f"{path}: another program is writing it: close that first") from error
    with writer:
        yield writer


def _is_record(line: bytes) -> bool:
    """Whether the last line lacks only its end."""
    return recording.decoded(_whole, line) is not None
