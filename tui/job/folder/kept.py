"""The files that a job's journal names against those that are there: gone, or others in their place."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import msgspec

from coaxly.logger.files import open_regular, sha256_of
from coaxly.logger.recording.records import Seal, decoded

from ...errors import UsageError
from . import details
from .journal import NAME, Photo, Record, Reported, Sweep
from .shop import Job

_DOUBLE: Final = re.compile(
    r"job[\W_].*toml|journal\.jsonl|job\.toml|(?:job\.toml|[^.].*\.jsonl)\W.*[^~]", re.IGNORECASE
)
_END: Final = 1 << 12
_seal: Final = msgspec.json.Decoder(Seal)


@dataclass(frozen=True, slots=True)
class Kept:
    """What of a job's files is not as its journal says, by their names.

    missing: recordings and pictures that are not there. other: recordings that end by another seal than was
    noted. replaced: pictures and reports of other bytes. doubles: other copies of job.toml, of the journal
    under a name that differs by capitals alone, or of any recording under a name that does not end as theirs.
    """

    missing: tuple[str, ...] = ()
    other: tuple[str, ...] = ()
    replaced: tuple[str, ...] = ()
    doubles: tuple[str, ...] = ()


def kept(job: Job, records: tuple[Record, ...], *, hashed: bool = True) -> Kept:
    """Look at the files of a job. hashed: pictures and reports too; recordings by their last line alone, so
    that a long list of jobs is shown at once: what was changed before it, an audit finds."""
    sweeps = {each.file: each for each in records if isinstance(each, Sweep)}
    others = {
        each.file: each.sha256 for each in records if isinstance(each, Photo | Reported) and each.sha256
    }
    missing = [each for each in sweeps if not _is_there(job, each)]
    other = [each.file for each in sweeps.values() if each.file not in missing and _is_other(job, each)]
    replaced = []
    for name, noted in others.items() if hashed else ():
        if Path(name).name != name:
            continue  # a report that was written elsewhere is its reader's
        try:
            if sha256_of(job.path / name) != noted:
                replaced.append(name)
        except OSError:
            continue
    pictures = {each.file for each in records if isinstance(each, Photo)}
    missing += [each for each in sorted(pictures) if not _is_there(job, each)]
    return Kept(tuple(missing), tuple(other), tuple(replaced), tuple(_doubles(job)))


def _doubles(job: Job) -> list[str]:
    """What a folder that several machines keep alike leaves where two of them wrote at once. A second journal
    that ends as recordings do is named with those that are not the job's."""
    try:
        names = sorted(path.name for path in job.path.iterdir())
    except OSError:
        return []
    return [name for name in names if name not in (details.NAME, NAME) and _DOUBLE.fullmatch(name)]


def _is_there(job: Job, name: str) -> bool:
    try:
        return job.file(name).is_file()
    except (UsageError, OSError, ValueError):
        return False


def _is_other(job: Job, sweep: Sweep) -> bool:
    try:
        return sweep.seal not in ("", _last_seal(job.file(sweep.file)))
    except (UsageError, OSError):
        return False  # who goes by it says so


def _last_seal(path: Path) -> str:
    """The hash of the seal that a recording ends by, as it stands there; "" where it ends by none."""
    with open_regular(path) as file:
        file.seek(max(0, path.stat().st_size - _END))
        seals = (decoded(_seal, line) for line in reversed(file.read().splitlines()))
        return next((seal.sha256 for seal in seals if seal is not None), "")
