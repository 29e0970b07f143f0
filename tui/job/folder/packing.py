"""A job in one file, to be carried to another machine: a zip of its folder, and back. Each is one step:
killed at any moment, there is what was there before, or all of it.

What comes from elsewhere is not trusted: no name may lead out of the folder, no link comes in, and no more
is unpacked than a job can hold.
"""

import contextlib
import os
import re
import secrets
import shutil
import stat
import sys
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import BinaryIO, Final

from coaxly.logger.durable import force, force_names, free_draft, make_folder, place
from coaxly.logger.files import open_regular, sha256_of
from coaxly.logger.locks import Held, NoLocks, lock

from ...entry.names import free, numbered
from ...errors import Failure, UsageError, doing, reading
from . import details, journal
from .index import alone
from .shop import Job, folder_name, is_job, no_name_on_windows
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
_WORK: Final = ".unpacking-"
_HELD: Final = ".held"
_METHODS: Final = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_DAMAGED: Final = (
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
    zlib.error,
    NotImplementedError,
    RuntimeError,
    EOFError,
    ValueError,
)


@dataclass(frozen=True, slots=True)
class PackedJob:
    """What was packed. files: how many. left_out: names of what does not go with a job (folders, links).
    sha256: of the pack."""

    files: int
    left_out: tuple[str, ...]
    sha256: str


def pack(job: Job, target: Path) -> PackedJob:
    """Write the job's files to a zip that does not exist yet, read again before it is there. Raises
    UsageError, also where `unpack` would refuse it, or Failure."""
    _ = look(job).details  # a job that cannot be read is not packed
    inside = [path for path in sorted(job.path.iterdir()) if not path.name.startswith(".")]
    files = [path for path in inside if path.is_file() and not path.is_symlink()]
    free(target)
    for path in files:
        if what := _harm(info := zipfile.ZipInfo(f"job/{path.name}")):
            raise _not_packed(f"{_shown(info).removeprefix('job/')!r}, {what}")
    draft = free_draft(target)
    try:
        if _write(draft, files, zipfile.ZIP_DEFLATED):
            _write(draft, files, zipfile.ZIP_STORED)
        _read_again(draft, target)
        digest = sha256_of(draft)
        free(target)
        place(draft, target)
    except (OSError, ValueError) as error:
        raise Failure(f"cannot write {target}: {getattr(error, 'strerror', None) or error}") from error
    finally:
        draft.unlink(missing_ok=True)
    return PackedJob(len(files), tuple(path.name for path in inside if path not in files), digest)


def _not_packed(what: str) -> UsageError:
    return UsageError(f"not packed, for no machine would unpack it: {what}; rename or move that first")


def _write(draft: Path, files: list[Path], method: int) -> bool:
    """Whether it shrank so far that `unpack` would take it for an attack."""
    with draft.open("wb") as file:
        with zipfile.ZipFile(file, "w", method, strict_timestamps=False) as packed:
            for path in files:
                packed.write(path, f"job/{path.name}")
        force(file)
        return any(map(_grows, packed.infolist())) or _all_grow(packed.infolist(), file.tell())


def _read_again(draft: Path, target: Path) -> None:
    """Everything in a pack as `unpack` reads it."""
    try:
        with zipfile.ZipFile(draft) as packed:
            for each in _checked(target, packed, draft.stat().st_size):
                for _ in _blocks(target, packed, each):
                    pass
    except UsageError as error:
        what = str(error).removeprefix(f"{target} holds ").removeprefix(f"{target}: ")
        raise _not_packed(what.replace(": not unpacked", "").replace("job/", "")) from error
    except _DAMAGED as error:
        raise Failure(f"{target} could not be read again, so it was not kept: {error}") from error


def unpack(source: Path, shop: Path) -> Job:
    """Put a packed job into the shop, beside whatever is there. Raises UsageError or Failure; then nothing
    was added."""
    try:
        with reading(source):
            opened = open_regular(source)
        with doing(f"unpack {source}"), opened as file, zipfile.ZipFile(file) as packed:
            files = _checked(source, packed, os.fstat(file.fileno()).st_size)
            make_folder(shop)
            with _work(shop) as work:
                _extract(source, packed, files, work)
                if not is_job(work):
                    raise UsageError(f"{source} holds no job: neither {journal.NAME} nor {details.NAME}")
                try:
                    name = _folder_of(Job(work))
                except UsageError as error:
                    raise UsageError(str(error).replace(str(work), str(source))) from error
                with alone(shop):
                    return Job(_moved(work, shop, name))
    except _DAMAGED as error:
        raise UsageError(f"{source} is no packed job, or is damaged: {error}") from error


@contextlib.contextmanager
def _work(shop: Path) -> Iterator[Path]:
    """A hidden folder to unpack into, on the shop's own disk. It is held as long as somebody works in it:
    what a program that was killed left there is cleared away."""
    for old in shop.glob(f"{_WORK}*"):
        with contextlib.suppress(OSError), (old / _HELD).open("ab") as held:
            lock(held)
            shutil.rmtree(old, ignore_errors=True)
    work, ours = _begun(shop)
    try:
        with ours:
            (work / "job").mkdir()
            yield work / "job"
    finally:
        shutil.rmtree(work, ignore_errors=True)


def _begun(shop: Path) -> tuple[Path, BinaryIO]:
    """A new one, and the file in it by which it is held."""
    while True:
        work = shop / f"{_WORK}{secrets.token_hex(8)}"
        work.mkdir()
        with contextlib.suppress(FileNotFoundError):  # another program cleared it away before it was held
            held = (work / _HELD).open("ab")
            try:
                with contextlib.suppress(NoLocks):
                    lock(held)
                if (work / _HELD).exists():
                    return work, held
            except Held:
                pass
            held.close()


def _moved(work: Path, shop: Path, name: str) -> Path:
    """The whole folder in one step to where nothing is. To be called while nobody else opens a job."""
    folder = next(each for each in numbered(shop / name) if not os.path.lexists(each))
    work.rename(folder)
    force_names(shop)
    return folder


def _checked(source: Path, packed: zipfile.ZipFile, size: int) -> list[zipfile.ZipInfo]:
    """The files that are to be unpacked. size: of the pack. Raises UsageError for anything that no packed job
    holds."""
    files = [each for each in packed.infolist() if not each.is_dir()]
    if (
        len(files) > MOST_FILES
        or sum(each.file_size for each in files) > MOST_BYTES
        or _all_grow(files, size)
    ):
        raise UsageError(f"{source} holds more than any job does: not unpacked")
    folders, names = set(), set()
    for each in files:
        if what := _harm(each):
            raise UsageError(f"{source} holds {_shown(each)!r}, {what}: not unpacked")
        if each.flag_bits & 1:
            raise UsageError(f"{source} is encrypted: unpack it elsewhere first")
        if each.compress_type not in _METHODS:
            raise UsageError(
                f"{source} is packed in a way that Coaxly does not read: pack it with 'coaxly job pack'"
            )
        path = PurePosixPath(each.filename)
        folders.add(path.parts[0])
        if path.name.casefold() in names or path.name.startswith("."):
            raise UsageError(
                f"{source} holds {_shown(each)!r} twice (capitals do not count), or hidden: not unpacked"
            )
        names.add(path.name.casefold())
    if len(folders) != 1:
        raise UsageError(f"{source} holds no job, or several: a packed job is one folder")
    return files


def _harm(each: zipfile.ZipInfo) -> str:
    """Why a file must not come in, "" where it may."""
    path, mode = PurePosixPath(each.filename), each.external_attr >> 16
    if _shown(each) != each.filename[:60] or any(
        len(os.fsencode(part)) > _LONGEST_NAME for part in path.parts
    ):
        return "no name that a file can have"
    odd = "\\" in each.orig_filename or ":" in each.filename or "\x00" in each.orig_filename
    if odd or path.is_absolute() or ".." in path.parts or len(path.parts) != 2:
        return "a path that leads elsewhere"
    if sys.platform == "win32" and no_name_on_windows(path.name):
        return "a name that Windows keeps for itself or spells otherwise"
    if mode and not stat.S_ISREG(mode) and stat.S_IFMT(mode):
        return "which is a link or a device"
    return "which would grow beyond measure" if _grows(each) else ""


def _shown(each: zipfile.ZipInfo) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in each.filename)[:60]


def _grows(each: zipfile.ZipInfo) -> bool:
    return each.file_size > _SMALL and each.file_size > MOST_RATIO * max(each.compress_size, 1)


def _all_grow(files: list[zipfile.ZipInfo], size: int) -> bool:
    """The same of all together, whatever each says of itself: files may lie over each other. size: of the
    pack."""
    total = sum(each.file_size for each in files)
    return total > _SMALL and total > MOST_RATIO * max(size, 1)


def _extract(source: Path, packed: zipfile.ZipFile, files: list[zipfile.ZipInfo], work: Path) -> None:
    """All of it, on the disk when this returns."""
    for each in files:
        with (work / PurePosixPath(each.filename).name).open("xb") as out:
            for block in _blocks(source, packed, each):
                out.write(block)
            force(out)
    force_names(work)


def _blocks(source: Path, packed: zipfile.ZipFile, each: zipfile.ZipInfo) -> Iterator[bytes]:
    """What is in one file. What it says of its size is not trusted: no more than that is taken."""
    left = each.file_size
    with packed.open(each) as inside:
        while block := inside.read(_BLOCK):
            left -= len(block)
            if left < 0:
                raise UsageError(f"{source}: {_shown(each)!r} is larger than it says: not unpacked")
            yield block


def _folder_of(job: Job) -> str:
    """What a job's folder is called here: by the day it was opened and its title, as any other. What the
    sender called it might be a name that the shop uses for itself."""
    known = look(job)
    opened = next((each for each in known.records if isinstance(each, journal.Opened)), None)
    day = (opened.time if opened else str(known.details.opened))[:10]
    title = known.details.title or (opened.title if opened else "")
    return folder_name(day if _DAY.fullmatch(day) else journal.now()[:10], title)
