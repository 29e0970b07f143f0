"""Other programs are kept out of a file while it is written, on each system in its way."""

import os

import pytest

from coaxly.logger import locks
from coaxly.logger.locks import Held, NoLocks, is_held, lock


def test_a_file_is_held_until_it_is_closed(tmp_path):
    path = tmp_path / "x"
    with path.open("ab") as ours:
        lock(ours)
        with path.open("ab") as theirs, pytest.raises(Held):
            lock(theirs)
        with path.open("rb") as read:
            assert is_held(read)
    with path.open("rb") as read:
        assert not is_held(read)


def test_a_disk_without_locks_is_told_from_a_file_that_is_held(tmp_path, monkeypatch):
    def none(*_):
        raise OSError(37, "No locks available")

    monkeypatch.setattr(locks.fcntl, "flock", none)
    with (tmp_path / "x").open("ab") as file:
        with pytest.raises(NoLocks, match="No locks available"):
            lock(file)
        assert not is_held(file)


class OtherSystem:
    """Locks of bytes as Windows has them: by file and place, for whoever has the file open. Nothing there has tried this
    on that system itself."""

    LK_NBLCK, LK_UNLCK = 2, 0

    def __init__(self):
        self.held = {}

    def locking(self, number, mode, count):
        key = (os.fstat(number).st_ino, os.lseek(number, 0, os.SEEK_CUR))
        if mode == self.LK_UNLCK:
            del self.held[key]
        elif self.held.get(key, number) != number:
            raise OSError(13, "Permission denied")
        else:
            self.held[key] = number


def test_where_there_is_no_flock_a_byte_far_behind_the_file_is_locked(tmp_path, monkeypatch):
    monkeypatch.setattr(locks, "fcntl", None)
    monkeypatch.setattr(locks, "msvcrt", OtherSystem(), raising=False)
    path = tmp_path / "x"
    path.write_bytes(b"0123")
    with path.open("r+b") as ours, path.open("r+b") as theirs:
        ours.seek(2)
        lock(ours)
        assert os.lseek(ours.fileno(), 0, os.SEEK_CUR) == ours.tell()  # where it was
        with pytest.raises(Held):
            lock(theirs)
        assert is_held(theirs)
        assert all(place > 1 << 39 for _, place in locks.msvcrt.held)
