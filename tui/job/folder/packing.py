"""A job in one file, to be carried to another machine: a zip of its folder, and back.

What comes from elsewhere is not trusted: no name may lead out of the folder, no link comes in, and no more
is unpacked than a job can hold.
"""

import os
import re
import stat
import tempfile
import zipfile
import zlib
from pathlib import Path, PurePosixPath
from typing import Final

from coaxly.logger.files import open_regular

from ...errors import Failure, UsageError
from . import details, journal
from .shop import Job, folder_name, free_folder, is_job
from .snapshot import look

MOST_FILES: Final = 5_000
MOST_BYTES: Final = 4 << 30
MOST_RATIO: Final = 200
"""Recordings shrink to a tenth; what shrinks to less than this share of itself is no recording."""
_BLOCK: Final = 1 << 20
_SMALL: Final = 1 << 20
_LONGEST_NAME: Final = 255
"""Bytes, as file systems have it."""
_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_DAMAGED: Final = (
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
    zlib.error,
    NotImplementedError,
    RuntimeError,
    EOFError,
)


def pack(job: Job, target: Path) -> int:
    """Write the job's files to a zip that does not exist yet. Returns how many.

    Raises UsageError or Failure.
    """
    journal.read(job.written)  # a job that cannot be read is not packed
    details.read(job.path / details.NAME)
    files = [path for path in sorted(job.path.iterdir()) if path.is_file() and not path.is_symlink()]
    files = [path for path in files if not path.name.startswith(".")]
    draft = target.with_name(f".{target.name}.{os.getpid()}")
    if target.exists():
        raise UsageError(f"{target} is there already: give another name")
    try:
        with zipfile.ZipFile(draft, "w", zipfile.ZIP_DEFLATED) as packed:
            for path in files:
                packed.write(path, f"{job.folder}/{path.name}")
        draft.rename(target)
    except (OSError, ValueError) as error:
        draft.unlink(missing_ok=True)
        why = getattr(error, "strerror", None) or error
        raise Failure(f"cannot write {target}: {why}") from error
    return len(files)


def unpack(source: Path, shop: Path) -> Job:
    """Put a packed job into the shop, beside whatever is there. Raises UsageError or Failure; then nothing
    was added."""
    try:
        with open_regular(source) as file, zipfile.ZipFile(file) as packed:
            files = _checked(source, packed)
            shop.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryDirectory(prefix=".unpacking-", dir=shop) as work:
                _extract(source, packed, files, Path(work))
                if not is_job(Path(work)):
                    raise UsageError(f"{source} holds no job: neither {journal.NAME} nor {details.NAME}")
                try:
                    folder = free_folder(shop, _folder_of(Job(Path(work))))
                except UsageError as error:
                    raise UsageError(str(error).replace(work, str(source))) from error
                for path in Path(work).iterdir():
                    path.rename(folder / path.name)
                return Job(folder)
    except _DAMAGED as error:
        raise UsageError(f"{source} is no packed job, or is damaged: {error}") from error
    except (FileNotFoundError, IsADirectoryError) as error:
        raise UsageError(f"{source}: {error.strerror}") from error
    except OSError as error:
        if not error.errno:  # a pipe, a device, a folder
            raise UsageError(f"{source}: {error.strerror or error}") from error
        raise Failure(f"cannot unpack {source}: {error.strerror or error}") from error


def _checked(source: Path, packed: zipfile.ZipFile) -> list[zipfile.ZipInfo]:
    """The files that are to be unpacked. Raises UsageError for anything that no packed job holds."""
    files = [each for each in packed.infolist() if not each.is_dir()]
    if len(files) > MOST_FILES or sum(each.file_size for each in files) > MOST_BYTES:
        raise UsageError(f"{source} holds more than any job does: it is not unpacked")
    folders, names = set(), set()
    for each in files:
        path = PurePosixPath(each.filename)
        named = "".join(c if c.isprintable() else "?" for c in each.filename)
        if named != each.filename or any(len(os.fsencode(part)) > _LONGEST_NAME for part in path.parts):
            raise UsageError(f"{source} holds {named[:60]!r}, no name that a file can have: not unpacked")
        odd = "\\" in each.orig_filename or ":" in each.filename or "\x00" in each.orig_filename
        if odd or path.is_absolute() or ".." in path.parts or len(path.parts) != 2:
            raise UsageError(
                f"{source} holds {each.filename[:60]!r}, a path that leads elsewhere: not unpacked"
            )
        mode = each.external_attr >> 16
        if mode and not stat.S_ISREG(mode) and stat.S_IFMT(mode):
            raise UsageError(
                f"{source} holds {each.filename[:60]!r}, which is a link or a device: not unpacked"
            )
        if each.flag_bits & 1:
            raise UsageError(f"{source} is encrypted: unpack it elsewhere first")
        if each.file_size > _SMALL and each.file_size > MOST_RATIO * max(each.compress_size, 1):
            raise UsageError(f"{source}: {each.filename[:60]!r} would grow beyond measure: not unpacked")
        folders.add(path.parts[0])
        if path.name.casefold() in names or path.name.startswith("."):
            raise UsageError(f"{source} holds {each.filename[:60]!r} twice, or hidden: not unpacked")
        names.add(path.name.casefold())
    if len(folders) != 1:
        raise UsageError(f"{source} holds no job, or several: a packed job is one folder")
    return files


def _extract(source: Path, packed: zipfile.ZipFile, files: list[zipfile.ZipInfo], work: Path) -> None:
    """What a file says of its size is not trusted: no more than that is taken."""
    for each in files:
        left = each.file_size
        with packed.open(each) as inside, (work / PurePosixPath(each.filename).name).open("xb") as out:
            while block := inside.read(_BLOCK):
                left -= len(block)
                if left < 0:
                    raise UsageError(f"{source}: {each.filename[:60]!r} is larger than it says: not unpacked")
                out.write(block)


def _folder_of(job: Job) -> str:
    """What a job's folder is called here: by the day it was opened and its title, as any other. What the
    sender called it might be a name that the shop uses for itself."""
    known = look(job)
    opened = next((each for each in known.records if isinstance(each, journal.Opened)), None)
    day = (opened.time if opened else str(known.details.opened))[:10]
    title = known.details.title or (opened.title if opened else "")
    return folder_name(day if _DAY.fullmatch(day) else journal.now()[:10], title)
