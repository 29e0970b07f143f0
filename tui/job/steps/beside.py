"""What an audit finds, one thing at a time; and a job's journal against the files beside it."""

import contextlib
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Literal

import msgspec

from ...errors import RUN_ERRORS, UsageError
from ..folder.journal import Sweep
from ..folder.kept import kept
from ..folder.snapshot import Recording, Snapshot
from ..folder.sworn import Edited, edited
from .leftoff import is_called
from .noting import STAGES, Stranger, is_other, stranger_in, unreadable

PointKind = Literal[
    "seals", "signed", "false_signature", "unsigned", "damaged", "unreadable", "failed", "killed",
    "journal", "unproved", "partly_signed", "nobody_signed", "cut", "not_noted", "missing", "other",
    "replaced", "double", "twin", "stranger", "details", "no_details", "lost", "edited", "end_open",
    "no_result", "same_result", "reckoned_otherwise", "result_differs",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Point:
    """One thing that an audit found. facts: its numbers and names; `what`: in the words of the reader."""

    kind: PointKind
    facts: Mapping[str, Any]

    @classmethod
    def that(cls, kind: PointKind, **facts: Any) -> "Point":
        """With its facts by name."""
        return cls(kind, facts)


def beside(known: Snapshot) -> list[Point]:
    """What of a job's folder does not agree with its journal, the gravest first.

    cut: recordings of the job that were begun when the journal held lines that are not in it now. other:
    noted ones that end by another seal than was noted. replaced: noted pictures and reports that hold other
    bytes. not_noted: finished recordings of the job that no line of it notes. missing: noted ones that are
    not there. double: other copies of job.toml or the journal. stranger: a recording that is not gone by.
    edited: a key of job.toml.
    """
    files = kept(known.job, known.records)
    cut, other, not_noted = list[str](), list[str](), list[str]()
    strangers: list[Stranger] = []
    for name, each in known.recordings.items():
        sweep = known.sweeps.get(name)
        try:
            if sweep is not None and is_other(sweep, each.seals.head):
                other.append(name)
            elif _is_cut(known, each, sweep):
                cut.append(name)
            elif sweep is None and (stranger := stranger_in(known, each)) and stranger.why != "late":
                strangers.append(stranger)
            elif sweep is None and each.header.stage in STAGES and each.seals.state == "ok":
                not_noted.append(name)
        except RUN_ERRORS as error:
            if sweep is None:  # of a noted one, who goes by it says so
                strangers.append(unreadable(each.path, error))
    by_hand: list[Edited] = []
    with contextlib.suppress(UsageError):  # a job.toml that cannot be read says nothing
        by_hand = edited(known)
    names: dict[PointKind, Sequence[str]] = {
        "cut": cut,
        "other": other,
        "replaced": files.replaced,
        "not_noted": not_noted,
        "missing": files.missing,
        "double": files.doubles,
    }
    return [
        *(Point.that(kind, files=tuple(of_it)) for kind, of_it in names.items() if of_it),
        *(Point.that("stranger", file=each.path.name, why=each.why, what=each.what) for each in strangers),
        *(Point.that("edited", **asdict(each)) for each in by_hand),
    ]


def changed(known: Snapshot) -> dict[str, str]:
    """Noted recordings whose seals do not hold any more, by name, with where that begins. Each is read to its
    end."""
    found = {}
    for name in known.sweeps:
        with contextlib.suppress(*RUN_ERRORS, UsageError):  # who goes by it says so
            if (seals := known.recording(name).seals).state == "changed":
                found[name] = seals.what
    return found


def _is_cut(known: Snapshot, recording: Recording, sweep: Sweep | None) -> bool:
    """Whether a recording of the job knows lines of its journal that are not in it. Raises LoggerError."""
    header = recording.header
    other_lines = header.journal is not msgspec.UNSET and header.journal not in known.journal.heads
    return other_lines and is_called(known, header.job) and (sweep is None or not sweep.taken)
