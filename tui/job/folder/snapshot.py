"""A job read once: what its folder said at one moment, for whoever works out a step or tells of it.

A snapshot never changes. Who changes the job (`shop.Job`) looks at it anew.
"""

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import Header
from coaxly.logger.recording.seals import SealReport, check_seals

from ...errors import UsageError
from . import details, journal, progress
from .details import Details
from .journal import Changed, Journal, Note, Opened, Packed, Photo, Record, Reported, Sweep, Unproved
from .progress import JobState
from .shop import Job

_CHANGES_NOTHING = (Changed, Note, Packed, Photo, Reported, Unproved)
"""Records after which a job stands where it stood."""


@dataclass(frozen=True)
class Recording:
    """A recording of a job: what it says is read where it is asked for, once. Raises LoggerError then."""

    path: Path

    @cached_property
    def header(self) -> Header:
        """Its first line."""
        with RecordingReader(self.path) as reader:
            return reader.header

    @cached_property
    def seals(self) -> SealReport:
        """What its seals say."""
        return check_seals(self.path)


@dataclass(frozen=True)
class Snapshot:
    """A job as it stood when it was looked at.

    toml: the bytes of its job.toml, none where there is no such file.
    """

    job: Job
    journal: Journal
    toml: bytes = field(repr=False)

    @cached_property
    def details(self) -> Details:
        """What people wrote in job.toml. Raises UsageError."""
        return details.parsed(self.toml, self.path / details.NAME)

    @property
    def records(self) -> tuple[Record, ...]:
        """Its journal's."""
        return self.journal.records

    @cached_property
    def state(self) -> JobState:
        """Where it stands."""
        return progress.state(self.records)

    @property
    def title(self) -> str:
        """What it is called. Raises UsageError."""
        return self.details.title or self.state.title or self.folder

    @property
    def folder(self) -> str:
        """The folder's name."""
        return self.job.folder

    @property
    def called(self) -> str:
        """What finds it on a command line."""
        return self.job.called

    @property
    def path(self) -> Path:
        """The folder."""
        return self.job.path

    @cached_property
    def sweeps(self) -> dict[str, Sweep]:
        """The recordings that it knows, by name, each as it was noted last."""
        return {record.file: record for record in self.records if isinstance(record, Sweep)}

    @cached_property
    def seals(self) -> dict[str, str]:
        """The names of the same by the seal that was noted."""
        return {each.seal: each.file for each in self.records if isinstance(each, Sweep) and each.seal}

    @cached_property
    def recordings(self) -> dict[str, Recording]:
        """Those in the folder, by name, whether its journal knows them or not, and what else is called so."""
        return {path.name: Recording(path) for path in self.job.called_so()}

    def recording(self, name: str) -> Recording:
        """One that the journal names, whether it is there or not. Raises UsageError where the name leads out
        of the folder."""
        return self.recordings.get(name) or Recording(self.file(name))

    @cached_property
    def titles(self) -> frozenset[str]:
        """Everything that it was called."""
        return frozenset(self._titles())

    def _titles(self) -> Iterator[str]:
        yield self.folder
        with contextlib.suppress(UsageError):  # who cannot read job.toml says so elsewhere
            yield self.details.title
        for record in self.records:
            if isinstance(record, Opened):
                yield record.title
            elif isinstance(record, Changed) and "title" in record.said:
                yield str(record.said["title"])

    @property
    def last_done(self) -> str:
        """When the last thing was done that changes where it stands, "" for never."""
        return max((each.time for each in self.done), default="")

    @property
    def done(self) -> tuple[Record, ...]:
        """The records that change where it stands."""
        return tuple(each for each in self.records if not isinstance(each, _CHANGES_NOTHING))

    def recording_of(self, sweep: Sweep) -> Path:
        """The file of a sweep that is gone by. Raises UsageError where it is not there, with a way on."""
        path = self.file(sweep.file)
        if path.exists() or path.is_symlink():
            return path  # what cannot be read says why
        part = "" if sweep.feature == "bore" else f" --feature {sweep.feature}"
        dowels = sweep.stage == "found" and self.state.dowels_went_in
        raise UsageError(
            f"{path} is not there any more, and the job goes by it: put it back, or "
            f"{'take the dowels out, say so, and ' if dowels else ''}sweep once more as {sweep.stage}, which "
            "then counts",
            command=f"coaxly sweep --job {self.called}{part} --stage {sweep.stage}",
            keys=f"J, {sweep.stage[0].upper()}" if sweep.feature == "bore" else "Enter",
        )

    def file(self, name: str) -> Path:
        """A file of the job by the name in its journal. Raises UsageError where that leads out of it."""
        return self.job.file(name)


def still(known: Snapshot) -> Snapshot:
    """The job as it is now, for who is about to note what was decided by looking at it. Raises UsageError
    where another program, or another screen, has done something to it since."""
    fresh = look(known.job)
    if fresh.done != known.done:
        raise UsageError(
            f"{known.title}: something was done to it meanwhile by another program, so nothing is noted: "
            "look where it stands now, and say it again"
        )
    return fresh


def look(job: Job) -> Snapshot:
    """Read a job. Raises UsageError where its journal or job.toml cannot be read at all; what is wrong in
    job.toml is raised where it is asked for."""
    return Snapshot(job, journal.read(job.written), details.written(job.path / details.NAME))
