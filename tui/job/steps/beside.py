"""A job's journal against the files beside it: recordings that it does not know, or that do not know it."""

from dataclasses import dataclass

import msgspec

from ...errors import RUN_ERRORS, UsageError
from ..folder.journal import Sweep
from ..folder.snapshot import Recording, Snapshot
from ..folder.sworn import Edited, edited
from .leftoff import is_called
from .sweeps import STAGES, is_other, stranger_in


@dataclass(frozen=True, slots=True)
class Beside:
    """What of a job's folder does not agree with its journal, by the names of files.

    cut: recordings of the job that were begun when the journal held lines that are not in it now.
    not_noted: finished ones of the job that no line of it notes. missing: noted ones that are not there.
    other: noted ones that end by another seal than was noted.
    edited: keys of job.toml.
    """

    cut: tuple[str, ...] = ()
    not_noted: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    other: tuple[str, ...] = ()
    edited: tuple[Edited, ...] = ()


def beside(known: Snapshot) -> Beside:
    """Look at a job's folder."""
    found: dict[str, list[str]] = {"cut": [], "not_noted": [], "other": []}
    for name, each in known.recordings.items():
        try:
            if why := _amiss(known, each, known.sweeps.get(name)):
                found[why].append(name)
        except RUN_ERRORS:
            continue  # who goes by it says so
    missing = tuple(name for name in known.sweeps if not (known.path / name).is_file())
    try:
        changed = tuple(edited(known))
    except UsageError:
        changed = ()  # a job.toml that cannot be read says nothing
    return Beside(missing=missing, edited=changed, **{why: tuple(names) for why, names in found.items()})


def _amiss(known: Snapshot, recording: Recording, sweep: Sweep | None) -> str:
    """What is wrong with a recording, as `Beside` calls it; "" where nothing is. Raises LoggerError."""
    if sweep is not None and is_other(sweep, recording.seal):
        return "other"
    header = recording.header
    other_lines = header.journal is not msgspec.UNSET and header.journal not in known.journal.heads
    if other_lines and is_called(known, header.job) and (sweep is None or not sweep.taken):
        return "cut"
    if sweep is not None or header.stage not in STAGES:
        return ""
    stranger = stranger_in(known, recording)
    unnoted = stranger.why == "late" if stranger is not None else bool(recording.seal)
    return "not_noted" if unnoted else ""
