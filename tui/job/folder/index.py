"""shop.sqlite: an index of the shop's jobs, and results by the seal of the recording that gave them.

Nothing is in it that the folders do not say: deleted, broken or stale, it is built again. Each time it is
opened, every folder's files are looked at (their times and sizes), and only those that changed are read.
"""

import contextlib
import json
import os
import sqlite3
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

import msgspec

from ...entry.names import plainly
from ...errors import CommandError, Failure, UsageError
from . import details, journal
from .progress import state
from .shop import Job, is_job, make_job

NAME: Final = "shop.sqlite"
_VERSION: Final = 3
_WAIT_S: Final = 20.0
_TABLES: Final = """
CREATE TABLE IF NOT EXISTS jobs (folder TEXT PRIMARY KEY, stamp TEXT NOT NULL, title TEXT NOT NULL,
  number TEXT NOT NULL, next TEXT NOT NULL, feature TEXT NOT NULL, opened TEXT NOT NULL, block TEXT NOT NULL,
  housing TEXT NOT NULL, answer TEXT NOT NULL, amiss TEXT NOT NULL, changed INTEGER NOT NULL,
  words TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS results (seal TEXT PRIMARY KEY, software TEXT NOT NULL, result TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS learned (folder TEXT PRIMARY KEY, stamp TEXT NOT NULL, software TEXT NOT NULL,
  learned TEXT NOT NULL);
"""
_COLUMNS: Final = "folder, title, number, next, feature, opened, block, housing, answer, amiss, changed"
_PUT: Final = "INSERT OR REPLACE INTO jobs VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?)"


class Row(msgspec.Struct, frozen=True, array_like=True):
    """One job of the list."""

    folder: str
    title: str
    number: str
    next: str
    feature: str
    opened: str
    block: str
    housing: str
    answer: dict[str, Any] | None
    """What the last sweep of its bore came to; of its face where the bore was not swept."""
    amiss: str
    """Why its files could not be read, "" where they could."""
    changed: int
    """When its files were changed last, ns."""


class Index:
    """The index of one shop, brought up to date when it is opened. To be used in a `with` statement."""

    def __init__(self, shop: Path) -> None:
        """Open it, or build it. Raises Failure."""
        self.shop = shop
        try:
            self._db = self._opened()
            self.refresh()
        except sqlite3.DatabaseError as error:
            if isinstance(error, sqlite3.OperationalError) and "locked" in str(error):
                raise Failure(f"{shop / NAME}: another program holds it: try again") from error
            self._rebuild()

    def _opened(self) -> sqlite3.Connection:
        where: Path | str = self.shop / NAME if self.shop.is_dir() else ":memory:"
        try:
            db = sqlite3.connect(where, timeout=_WAIT_S, isolation_level=None)
            db.execute("PRAGMA journal_mode=WAL")
        except sqlite3.OperationalError as error:
            if "locked" in str(error):
                raise
            # A shop on a disk that is only read is listed all the same.
            db = sqlite3.connect(":memory:", isolation_level=None)
        db.execute("PRAGMA synchronous=NORMAL")
        if db.execute("PRAGMA user_version").fetchone()[0] not in (0, _VERSION):
            raise sqlite3.DatabaseError("of another version")
        db.executescript(_TABLES)
        db.execute(f"PRAGMA user_version={_VERSION}")
        return db

    def _rebuild(self) -> None:
        """A file that is no index, or one of another version, is replaced."""
        with contextlib.suppress(AttributeError):
            self._db.close()
        try:
            for end in ("", "-wal", "-shm"):
                (self.shop / f"{NAME}{end}").unlink(missing_ok=True)
            self._db = self._opened()
            self.refresh()
        except (OSError, sqlite3.DatabaseError) as error:
            raise Failure(f"{self.shop / NAME} cannot be built again: {error}") from error

    def refresh(self) -> None:
        """Read the folders that changed since."""
        known = dict(self._db.execute("SELECT folder, stamp FROM jobs"))
        there = dict(_stamps(self.shop))
        rows = [_row(self.shop / name, stamp) for name, stamp in there.items() if known.get(name) != stamp]
        gone = [(name,) for name in known if name not in there]
        if rows or gone:
            with self.alone():
                self._db.executemany(_PUT, rows)
                self._db.executemany("DELETE FROM jobs WHERE folder = ?", gone)
                self._db.executemany("DELETE FROM learned WHERE folder = ?", gone)

    @contextlib.contextmanager
    def alone(self) -> Iterator[None]:
        """Nobody else changes the index, or opens a job, meanwhile. May be nested."""
        if self._db.in_transaction:
            yield
            return
        self._db.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            self._db.execute("ROLLBACK")
            raise
        self._db.execute("COMMIT")

    def rows(self, words: str = "") -> list[Row]:
        """Jobs whose title, names, numbers or notes hold every one of the words, the newest work first."""
        wanted = words.casefold().split()
        where = " AND ".join(["instr(words, ?) > 0"] * len(wanted)) or "1"
        found = self._db.execute(
            f"SELECT {_COLUMNS} FROM jobs WHERE {where} ORDER BY changed DESC, folder", wanted
        )
        return [msgspec.convert([*each[:8], json.loads(each[8]), *each[9:]], Row) for each in found]

    def next_number(self) -> int:
        """One more than the largest number of a job."""
        numbers = [int(each) for (each,) in self._db.execute("SELECT number FROM jobs") if each.isdigit()]
        return max(numbers, default=0) + 1

    def result(self, seal: str, software: str) -> dict[str, Any] | None:
        """The result of a recording by its seal, if this version of the software has it."""
        query = "SELECT result FROM results WHERE seal = ? AND software = ?"
        found = self._db.execute(query, (seal, software)).fetchone()
        return None if found is None else json.loads(found[0])

    def keep(self, seal: str, software: str, result: dict[str, Any]) -> None:
        """Keep the result of a recording."""
        self._db.execute(
            "INSERT OR REPLACE INTO results VALUES (?,?,?)", (seal, software, json.dumps(result))
        )

    def has_results(self) -> bool:
        """Whether there is any result to look for."""
        return self._db.execute("SELECT 1 FROM results LIMIT 1").fetchone() is not None

    def stamps(self) -> dict[str, str]:
        """The folders of jobs, and what tells whether their files changed."""
        return dict(self._db.execute("SELECT folder, stamp FROM jobs"))

    def learned(self, software: str) -> dict[str, tuple[str, str]]:
        """What this version of the software knows of each job's bore, by folder, and of which stamp."""
        query = "SELECT folder, stamp, learned FROM learned WHERE software = ?"
        return {folder: (stamp, text) for folder, stamp, text in self._db.execute(query, (software,))}

    def keep_learned(self, software: str, rows: Sequence[tuple[str, str, str]]) -> None:
        """Keep it: folder, stamp, and what is known."""
        put = "INSERT OR REPLACE INTO learned (folder, stamp, learned, software) VALUES (?,?,?,?)"
        if rows:
            with self.alone():
                self._db.executemany(put, [(*row, software) for row in rows])

    def __enter__(self) -> "Index":
        """Use in a `with` statement."""
        return self

    def __exit__(self, *_: object) -> None:
        """Let go of it."""
        self._db.close()


def find_job(shop: Path, words: str) -> Job | None:
    """A job by its folder, its number, its title or a part of the title that no other has; None where there
    is none. Raises UsageError where there are several."""
    if not words.strip():
        return None
    with contextlib.suppress(OSError, ValueError, RuntimeError):  # what is no path is a title
        if is_job(path := Path(words).expanduser()):
            return Job(path.resolve())
    if not shop.is_dir():
        return None
    with Index(shop) as index:
        rows = index.rows()
    key = plainly(words)
    tests = (
        lambda row: row.folder == words,
        lambda row: row.number.casefold() == key,
        lambda row: plainly(row.title) == key,
        lambda row: key in plainly(row.title) or key in row.folder,
    )
    for fits in tests:
        found = [row for row in rows if fits(row)]
        if len(found) == 1:
            return Job(shop / found[0].folder)
        if found:
            listed = ", ".join(row.folder for row in found[:6])
            more = f" and {len(found) - 6} more" if len(found) > 6 else ""
            raise UsageError(f"{words[:60]!r} may be {listed}{more}: say which folder")
    return None


def need_job(shop: Path, words: str) -> Job:
    """The same. Raises UsageError also where there is none."""
    job = find_job(shop, words)
    if job is None:
        raise UsageError(
            f"no job in {shop} is called {words[:60]!r}: 'coaxly job list' shows them, "
            "'coaxly job open TITLE' begins one"
        )
    return job


def open_job(shop: Path, title: str, values: dict[str, Any], opened: journal.Opened) -> Job:
    """Begin a job; two programs that do at once give it two numbers. Raises UsageError or Failure."""
    try:
        shop.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Failure(f"cannot make {shop}: {error.strerror or error}") from error
    with Index(shop) as index, index.alone():
        index.refresh()
        return make_job(
            shop, title, {**values, "number": values.get("number") or index.next_number()}, opened
        )


def _stamps(shop: Path) -> Iterator[tuple[str, str]]:
    """The names of job folders, and what tells whether their files changed."""
    try:
        folders = os.scandir(shop)
    except OSError:
        return
    with folders:
        for entry in folders:
            if entry.name.startswith(".") or entry.name.startswith(NAME):
                continue
            marks = [mark(f"{entry.path}/{name}") for name in (journal.NAME, details.NAME)]
            if any(marks):
                yield entry.name, "|".join(marks)


def mark(path: str) -> str:
    """What tells whether a file changed: its time, size and number; "" where there is none."""
    try:
        found = os.stat(path)  # noqa: PTH116 - for ten thousand folders, at a third of the cost
    except OSError:
        return ""
    return f"{found.st_mtime_ns},{found.st_size},{found.st_ino}"


def _row(path: Path, stamp: str) -> tuple[Any, ...]:
    """What the index holds of a job."""
    amiss = ""
    known = details.Details()
    records: tuple[journal.Record, ...] = ()
    try:
        records = journal.read(path / journal.NAME).records
        known = details.read(path / details.NAME)
    except CommandError as error:
        amiss = str(error)
    now = state(records)
    answer = None
    last = now.last or now.face.left or now.face.found
    if last is not None and last.answer is not None:
        given = last.answer
        answer = {"tir": given.tir, "u95": given.u95, "limit": given.limit, "state": given.state,
                  "feature": last.feature, "doubts": given.doubts}  # fmt: skip
    title = known.title or now.title or path.name
    block, housing = (" ".join(filter(None, (p.family, p.serial))) for p in (known.block, known.housing))
    opened = str(known.opened) or (records[0].time if records else "")
    changed = max((int(mark.split(",")[0]) for mark in stamp.split("|") if mark), default=0)
    texts = (
        path.name,
        title,
        str(known.number),
        known.customer,
        known.technician,
        block,
        housing,
        known.notes,
    )
    words = "\n".join((*texts, *(note.text for note in now.notes))).casefold()
    return (path.name, stamp, title, str(known.number), now.next, now.feature, opened, block, housing,
            json.dumps(answer), amiss, changed, words)  # fmt: skip
