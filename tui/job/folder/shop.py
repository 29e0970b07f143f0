"""The shop's folder and the folders of its jobs: `2026-11-25-blue-van`, with all that is known of the job."""

import contextlib
import os
import re
import secrets
import shlex
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import msgspec

from coaxly.logger.durable import force_names

from ...entry.names import numbered
from ...errors import OURS, UsageError, doing
from . import details, journal

_DEVICE: Final = re.compile(r"(?:con|prn|aux|nul|conin\$|conout\$|com[0-9¹²³]|lpt[0-9¹²³])", re.IGNORECASE)
"""Devices of Windows, whatever stands behind a point (learn.microsoft.com, "Naming Files, Paths, and
Namespaces")."""

_LONGEST: Final = 60


@dataclass(frozen=True, slots=True)
class Job:
    """A job by its folder: what is in it is looked at by `snapshot.look`, and changed through here."""

    path: Path

    @property
    def folder(self) -> str:
        """The folder's name."""
        return self.path.name

    @property
    def called(self) -> str:
        """What finds it on a command line: the folder's name in the usual shop, else where it is."""
        return shlex.quote(str(self.path)) if asked_for(self.path.parent) else self.folder

    @property
    def written(self) -> Path:
        """The file of its journal."""
        return self.path / journal.NAME

    def note(self, record: journal.Record) -> None:
        """Add to its journal, sealed and on the disk. Raises UsageError or Failure."""
        journal.append(self.written, record)

    def note_sweeps(self, *sweeps: journal.Sweep) -> list[str]:
        """Note those recordings that are not noted yet, whoever else does the same in this moment. Returns
        their names. Raises UsageError or Failure."""
        if not sweeps:
            return []
        added = journal.append(self.written, *sweeps, fits=unknown_seal)
        return [record.file for record in added if isinstance(record, journal.Sweep)]

    def edit(self, **values: Any) -> None:
        """Set keys of job.toml, and note those that changed. Raises UsageError or Failure."""
        path = self.path / details.NAME
        before = details.read(path).sworn
        details.edit(path, values)
        after = details.read(path).sworn
        said = {key: after[key] for key in values if before[key] != after[key]}
        if said:
            self.note(journal.Changed(time=journal.now(), said=said))

    def file(self, name: str) -> Path:
        """A file of the job by the name in its journal. Raises UsageError where that leads out of it."""
        if name != Path(name).name or "\\" in name:
            raise UsageError(f"{self.written} names a file outside its folder: {name[:60]!r}")
        return self.path / name

    def free_recording(self, stage: str, feature: str) -> Path:
        """A name that no recording has: found-1.jsonl, face-left-2.jsonl. Raises UsageError."""
        return free_recording(self.path, stem_of(stage, feature))

    def recordings(self) -> list[Path]:
        """Recordings in the folder, whether its journal knows them or not."""
        return [path for path in self.called_so() if path.is_file()]

    def called_so(self) -> list[Path]:
        """Whatever bears the name of a recording, folders, pipes and links to nothing too."""
        return sorted(path for path in self.path.glob("*.jsonl") if path.name != journal.NAME)


def unknown_seal(known: Sequence[journal.Record], record: journal.Record) -> bool:
    """Whether a recording is not noted yet: by its seal; by its name where it, or the one of that name, has
    none."""
    assert isinstance(record, journal.Sweep)
    noted = [each for each in known if isinstance(each, journal.Sweep)]
    if record.seal and any(each.seal == record.seal for each in noted):
        return False
    return all(each.file != record.file for each in noted)


def shop_folder(option: str | None = None, preference: str = "") -> Path:
    """Where the jobs are: what was asked for, else COAXLY_SHOP, else the setting, else `Coaxly` in the
    user's documents. It need not exist yet. Raises UsageError where no folder can be there."""
    folder = _wanted(option, preference)
    there = next(path for path in (folder, *folder.absolute().parents) if os.path.lexists(path))
    if not there.is_dir():
        other = "another" if option else "another with --shop DIR"
        raise UsageError(f"{there} is no folder, and a shop is one: name {other}")
    return folder


def _wanted(option: str | None, preference: str) -> Path:
    wanted = option or os.environ.get("COAXLY_SHOP", "") or preference
    if wanted:
        return Path(wanted).expanduser()
    from platformdirs import user_documents_path

    return user_documents_path() / "Coaxly"


def asked_for(shop: Path) -> str:
    """What a command that is quoted needs behind it to find a shop; nothing for the usual one."""
    from ...entry.preferences import load_preferences

    usual = _wanted(None, load_preferences().shop)
    return "" if shop.resolve() == usual.resolve() else f" --shop {shlex.quote(str(shop))}"


def no_name_on_windows(name: str) -> bool:
    """Whether that system has no file of the name, or of another name only."""
    stem = name.partition(".")[0].rstrip(" ")
    return bool(_DEVICE.fullmatch(stem) or name.endswith((".", " ")) or set(name) & set('<>"|?*'))


def plain(text: str) -> str:
    """Plain small letters, digits and hyphens: "Zoë's Van" is zoes-van, and "Aux" aux-1: no system may take
    the name for something else."""
    letters = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    letters = letters.replace("'", "")
    word = re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:_LONGEST].strip("-")
    return f"{word}-1" if _DEVICE.fullmatch(word) else word


def stem_of(stage: str, feature: str) -> str:
    """What names of such recordings of a job are, before their number: found, face-left."""
    word = plain(stage) or "sweep"
    return word if feature == "bore" else f"{plain(feature)}-{word}"


def free_recording(folder: Path, stem: str) -> Path:
    """STEM-1.jsonl, or with the next number that is free. Raises UsageError."""
    names = numbered(folder / f"{stem}.jsonl", 1)
    return next(path for path in names if not os.path.lexists(path))  # a link to nothing has the name too


def is_job(path: Path) -> bool:
    """Whether a folder is that of a job."""
    return (path / journal.NAME).is_file() or (path / details.NAME).is_file()


def make_job(shop: Path, title: str, values: Mapping[str, Any], opened: journal.Opened) -> Job:
    """A new folder with job.toml and the first line of its journal. Raises UsageError or Failure."""
    with doing(f"make a folder in {shop}"):
        path = next(each for each in numbered(shop / folder_name(opened.time[:10], title)) if _was_made(each))
    job = Job(path)
    try:
        details.write_new(path / details.NAME, {**values, "title": title, "opened": opened.time})
        sworn = details.read(path / details.NAME).sworn
        job.note(msgspec.structs.replace(opened, said=sworn, id=secrets.token_hex(8)))
        force_names(shop)
    except (*OURS, OSError):
        for name in (details.NAME, journal.NAME):  # half a job is none
            (path / name).unlink(missing_ok=True)
        with contextlib.suppress(OSError):
            path.rmdir()
        raise
    return job


def folder_name(day: str, title: str) -> str:
    """2026-11-25-blue-van: no name that the shop uses for itself begins with a day."""
    return f"{day}-{plain(title) or 'job'}"


def _was_made(folder: Path) -> bool:
    try:
        folder.mkdir()
    except FileExistsError:
        return False
    return True
