"""A job's journal against the files beside it: recordings that it does not know, or that do not know it."""

import contextlib
from dataclasses import dataclass

import msgspec

from ...errors import RUN_ERRORS, UsageError
from ..folder.journal import Sweep
from ..folder.kept import kept
from ..folder.snapshot import Recording, Snapshot
from ..folder.sworn import Edited, edited
from .leftoff import is_called
from .sweeps import STAGES, Stranger, is_other, stranger_in, unreadable


@dataclass(frozen=True, slots=True)
class Beside:
    """What of a job's folder does not agree with its journal, by the names of files.

    cut: recordings of the job that were begun when the journal held lines that are not in it now.
    not_noted: finished ones of the job that no line of it notes. missing: noted ones that are not there.
    other: noted ones that end by another seal than was noted. replaced: noted pictures and reports that
    hold other bytes. doubles: other copies of job.toml or the journal. strangers: recordings that are not
    gone by.
    edited: keys of job.toml.
    """

    cut: tuple[str, ...] = ()
    not_noted: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    other: tuple[str, ...] = ()
    replaced: tuple[str, ...] = ()
    doubles: tuple[str, ...] = ()
    strangers: tuple[Stranger, ...] = ()
    edited: tuple[Edited, ...] = ()


def beside(known: Snapshot) -> Beside:
    """Look at a job's folder."""
    files = kept(known.job, known.records)
    found: dict[str, list[str]] = {"cut": [], "not_noted": [], "other": []}
    strangers: list[Stranger] = []
    for name, each in known.recordings.items():
        try:
            why = _amiss(known, each, known.sweeps.get(name))
        except RUN_ERRORS as error:
            if name not in known.sweeps:  # of a noted one, who goes by it says so
                strangers.append(unreadable(each.path, error))
            continue
        if isinstance(why, Stranger):
            strangers.append(why)
        elif why:
            found[why].append(name)
    changed: list[Edited] = []
    with contextlib.suppress(UsageError):  # a job.toml that cannot be read says nothing
        changed = edited(known)
    return Beside(
        missing=files.missing, replaced=files.replaced, doubles=files.doubles, strangers=tuple(strangers),
        edited=tuple(changed), **{why: tuple(names) for why, names in found.items()},
    )  # fmt: skip


def _amiss(known: Snapshot, recording: Recording, sweep: Sweep | None) -> str | Stranger:
    """What is wrong with a recording, as `Beside` calls it; "" where nothing is. Raises LoggerError."""
    if sweep is not None and is_other(sweep, recording.seal):
        return "other"
    header = recording.header
    other_lines = header.journal is not msgspec.UNSET and header.journal not in known.journal.heads
    if other_lines and is_called(known, header.job) and (sweep is None or not sweep.taken):
        return "cut"
    if sweep is not None:
        return ""
    stranger = stranger_in(known, recording)
    if stranger is not None and stranger.why != "late":
        return stranger
    return "not_noted" if header.stage in STAGES and recording.seals.state == "ok" else ""
