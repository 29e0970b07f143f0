"""shop.sqlite: texts kept by name, that are worked out again wherever they are lost.

So nothing that goes wrong with it is anybody's concern. Damaged, or of another version, it is begun anew;
held by another program, on a full disk or one that is only read, it is left alone and a table in memory
stands in.
SQLite finds damage to its own pages only, so each text carries a sum.
"""

import contextlib
import hashlib
import sqlite3
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any, Final, TypeVar

_Answer = TypeVar("_Answer")

_VERSION: Final = 8
_WAIT_S: Final = 1.0
_TABLE: Final = """
CREATE TABLE IF NOT EXISTS kept (what TEXT NOT NULL, name TEXT NOT NULL, stamp TEXT NOT NULL,
  value TEXT NOT NULL, sum TEXT NOT NULL, PRIMARY KEY (what, name));
"""
_IN_THE_WAY: Final = {
    sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_FULL, sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH,
    sqlite3.SQLITE_NOMEM, sqlite3.SQLITE_PROTOCOL, sqlite3.SQLITE_NOLFS,
}  # fmt: skip
"""What SQLite says where the file may be as good as ever."""
_SHORT: Final = sqlite3.SQLITE_IOERR_SHORT_READ


class Damaged(ValueError):
    """What is kept is not what was put there."""


class Store:
    """What is kept in a file, or in memory. To be closed."""

    def __init__(self, path: Path | None) -> None:
        """path: None for one in memory."""
        self._path = path
        try:
            self._db = self._opened(path)
        except (sqlite3.Error, ValueError) as error:  # of bytes that are no text, ValueError
            self._give_up(error)

    def all(self, what: str) -> dict[str, tuple[str, str]]:
        """Stamp and text of everything of a kind, by name."""
        return self._safely(lambda: dict(self._rows("WHERE what = ?", what)))

    def one(self, what: str, name: str) -> tuple[str, str] | None:
        """Stamp and text of one."""
        return self._safely(
            lambda: next((kept for _, kept in self._rows("WHERE what = ? AND name = ?", what, name)), None)
        )

    def put(self, what: str, rows: Iterable[tuple[str, str, str]], gone: Iterable[str] = ()) -> None:
        """Keep some: name, stamp and text of each; and forget some by name."""
        new = [(what, *row, _sum(what, *row)) for row in rows]
        old = [(what, name) for name in gone]
        if new or old:
            self._safely(lambda: self._write(new, old))

    def close(self) -> None:
        """Let go of it."""
        with contextlib.suppress(sqlite3.Error):
            self._db.close()

    def _safely(self, work: Callable[[], _Answer]) -> _Answer:
        """Do something, on another store where this one will not have it. What that one lacks is missing."""
        for _ in range(2):
            try:
                return work()
            except (sqlite3.Error, ValueError) as error:  # of bytes that are no text, ValueError
                self._give_up(error)
        return work()

    def _give_up(self, error: Exception) -> None:
        code = getattr(error, "sqlite_errorcode", None)
        in_the_way = code is not None and code & 0xFF in _IN_THE_WAY and code != _SHORT
        with contextlib.suppress(AttributeError, sqlite3.Error):
            self._db.close()
        path, self._path = self._path, None
        try:
            if path is not None and not in_the_way:
                for end in ("", "-wal", "-shm"):
                    path.with_name(path.name + end).unlink(missing_ok=True)
                self._db = self._opened(path)
                return
        except (OSError, sqlite3.Error, ValueError):
            pass
        self._db = self._opened(None)

    def _opened(self, path: Path | None) -> sqlite3.Connection:
        db = sqlite3.connect(":memory:" if path is None else path, timeout=_WAIT_S, isolation_level=None)
        try:
            db.execute("PRAGMA journal_mode=WAL")
            db.execute("PRAGMA synchronous=NORMAL")
            version = db.execute("PRAGMA user_version").fetchone()[0]
            if version == 0:
                db.executescript(_TABLE)
                db.execute(f"PRAGMA user_version={_VERSION}")
            elif version != _VERSION:
                raise Damaged("of another version")
        except BaseException:
            db.close()
            raise
        return db

    def _rows(self, where: str, *values: str) -> list[tuple[str, tuple[str, str]]]:
        found = self._db.execute(f"SELECT what, name, stamp, value, sum FROM kept {where}", values).fetchall()
        for *row, noted in found:
            if not all(isinstance(each, str) for each in row) or noted != _sum(*row):
                raise Damaged("a row is not as it was put there")
        return [(name, (stamp, value)) for _, name, stamp, value, _ in found]

    def _write(self, new: Sequence[tuple[Any, ...]], old: Sequence[tuple[str, str]]) -> None:
        self._db.execute("BEGIN IMMEDIATE")
        try:
            self._db.executemany("INSERT OR REPLACE INTO kept VALUES (?,?,?,?,?)", new)
            self._db.executemany("DELETE FROM kept WHERE what = ? AND name = ?", old)
            self._db.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                self._db.execute("ROLLBACK")
            raise


def _sum(*row: str) -> str:
    return hashlib.sha256("\0".join(row).encode("utf-8", "surrogatepass")).hexdigest()[:16]
