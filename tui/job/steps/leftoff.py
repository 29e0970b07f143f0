"""The sweep of a job that was begun and left off. Every list of jobs looks for it, so nothing heavy is
imported here unless there is one.
"""

import shlex
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import msgspec

from coaxly.logger.errors import LoggerError
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import ENCODER, INDICATOR, OPPOSITE, End, Header, Raw, ResultRecord

from ...entry.names import plainly
from ...errors import OURS, RUN_ERRORS, UsageError
from ..folder.shop import Job, stem_of
from ..folder.snapshot import Recording, Snapshot, look


def unfinished(path: Path) -> bool:
    """Whether a recording was left off before its result, and can go on."""
    try:
        with RecordingReader(path) as reader:
            return not any(
                isinstance(record, ResultRecord | End) for block in reader.blocks() for record in block
            )
    except LoggerError:
        return False


def going_on(path: Path, ports: Mapping[str, str] | None = None) -> str:
    """The command that goes on with a recording. ports: where its instruments are; without them PORT
    stands for each, since no recording says that. Raises LoggerError."""
    unit = ""
    if not ports:
        from coaxly.logger.profile import TYPED

        with RecordingReader(path) as reader:
            said, angle = reader.header.instrument, reader.header.angle
            if said.get("name") == TYPED and not said.get("unit"):
                unit = _unit_of_all(reader)
        has = {
            INDICATOR: said.get("name") != TYPED,
            ENCODER: angle.get("mode") == ENCODER,
            OPPOSITE: isinstance(angle.get("opposite"), dict),
        }
        ports = {name: "PORT" for name, there in has.items() if there}
    named = (f" {port_option(name)} {shlex.quote(port)}" for name, port in ports.items())
    return f"coaxly sweep{unit and f' --unit {unit}'} --resume {shlex.quote(str(path))}{''.join(named)}"


def _unit_of_all(reader: RecordingReader) -> str:
    """That of thou and um which stands behind every reading that was typed, as --unit puts it there; else
    ""."""
    from ...entry.lengths import own_unit

    raws = (record for block in reader.blocks() for record in block if isinstance(record, Raw))
    units = {own_unit(raw.data.strip()) for raw in raws}
    return units.pop() if units in ({"thou"}, {"um"}) else ""


def port_option(name: str) -> str:
    """The option that says where an instrument is."""
    return "--port" if name == INDICATOR else f"--{name}"


def elsewhere(known: Snapshot, header: Header) -> Literal["job", "journal"] | None:
    """Whether a recording was begun for another job than this, or under another journal."""
    if begun_in_one := header.journal is not msgspec.UNSET and bool(header.journal):
        if header.journal in known.journal.heads:
            return None
        if not header.job:
            return "journal"
    if not is_called(known, header.job):
        return "job"
    return "journal" if begun_in_one else None


def is_called(known: Snapshot, name: str) -> bool:
    """Whether the job was ever called so."""
    return plainly(name) in map(plainly, known.titles)


@dataclass(frozen=True, slots=True)
class LeftOff:
    """The sweep that is due was begun and left off. read, of: stations, None where they are not counted.
    runs: whether it was not, for it is being made now, by another program."""

    path: Path
    read: int | None = None
    of: int | None = None
    runs: bool = False


def left_off(known: Snapshot) -> LeftOff | None:
    """Whether the sweep that is due was begun: the newest recording of its kind was left off."""
    step, feature = known.state.next, known.state.feature
    if not step.startswith("sweep "):
        return None
    begun = _begun(known, step.removeprefix("sweep "), feature)
    if not begun or not unfinished(begun[-1]):
        return None
    from ..sweep.resume import read_so_far

    read, of = read_so_far(begun[-1]) or (None, None)
    return LeftOff(begun[-1], read, of, _runs(begun[-1]))


def _runs(path: Path) -> bool:
    from coaxly.logger.recording.writer import being_written

    try:
        return being_written(path)
    except OSError:
        return False  # who cannot read it says so elsewhere


def running(known: Snapshot) -> list[Path]:
    """Recordings of sweeps of the job that are being made now, by whatever program."""
    return [path for path in known.job.recordings() if path.name not in known.sweeps and _runs(path)]


def need_rest(known: Snapshot) -> None:
    """Raises UsageError under a sweep of the job that is being made now."""
    for path in running(known):
        raise UsageError(f"{known.title}: a sweep of this job is running ({path.name}): end it first")


def left_off_at(job: Job, step: str) -> LeftOff | None:
    """The same where the step that is due is known from the list: nothing is read unless that is a sweep."""
    try:
        return left_off(look(job)) if step.startswith("sweep ") else None
    except OURS:
        return None  # the list says what is amiss


def broken_off(known: Snapshot, stage: str, feature: str) -> list[Path]:
    """Recordings of the job that were left off and can go on, the newest last."""
    return [path for path in _begun(known, stage, feature) if unfinished(path)]


def _begun(known: Snapshot, stage: str, feature: str) -> list[Path]:
    """The recordings that bear such a name and a number and are of no other job, the newest last."""
    stem = f"{stem_of(stage, feature)}-"
    named = [known.recordings[path.name] for path in known.job.recordings()]
    alike = [each for each in named if each.path.stem.startswith(stem)]
    paths = [each.path for each in alike if not _strange(known, each)]
    numbers = ((path.stem.removeprefix(stem), path) for path in paths)
    return [path for _, path in sorted((int(number), path) for number, path in numbers if number.isdecimal())]


def _strange(known: Snapshot, recording: Recording) -> bool:
    """Whether a recording names another job; one that names none may be of this."""
    try:
        header = recording.header
    except RUN_ERRORS:
        return False
    return (
        bool(header.job) and recording.path.name not in known.sweeps and elsewhere(known, header) is not None
    )
