"""A job's journal against the files beside it: recordings that it does not know, or that do not know it."""

from dataclasses import dataclass
from pathlib import Path

import msgspec

from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.seals import last_seal

from ...errors import RUN_ERRORS, UsageError
from ..folder.journal import Sweep
from ..folder.snapshot import Snapshot
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
    cut, not_noted, other = [], [], []
    for path in known.job.recordings():
        sweep = known.sweeps.get(path.name)
        if sweep is not None and is_other(sweep, _seal_of(path)):
            other.append(path.name)
        elif _begun_under_other_lines(known, path, sweep):
            cut.append(path.name)
        elif sweep is None and _unnoted(known, path):
            not_noted.append(path.name)
    missing = tuple(name for name in known.sweeps if not (known.path / name).is_file())
    try:
        changed = tuple(edited(known))
    except UsageError:
        changed = ()  # a job.toml that cannot be read says nothing
    return Beside(tuple(cut), tuple(not_noted), missing, tuple(other), changed)


def _seal_of(path: Path) -> str:
    try:
        seal = last_seal(path)
    except RUN_ERRORS:
        return ""  # who goes by it says so
    return "" if seal is None else seal.sha256


def _begun_under_other_lines(known: Snapshot, path: Path, sweep: Sweep | None) -> bool:
    """Whether a recording of this job knows another journal than the one that is there."""
    try:
        with RecordingReader(path) as reader:
            header = reader.header
    except RUN_ERRORS:
        return False
    if header.journal is msgspec.UNSET or header.journal in known.journal.heads:
        return False
    if not is_called(known, header.job):
        return False
    return sweep is None or not sweep.taken


def _unnoted(known: Snapshot, path: Path) -> bool:
    """Whether a finished sweep of the job is in no line of its journal."""
    try:
        stranger = stranger_in(known, path)
        with RecordingReader(path) as reader:
            ours = reader.header.stage in STAGES
        return ours and (stranger.why == "late" if stranger is not None else last_seal(path) is not None)
    except RUN_ERRORS:
        return False
