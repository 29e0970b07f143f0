"""The index may always be lost: damaged, locked, on a full disk or one that is only read, it costs nobody a command."""

import random
import sqlite3
import time

import pytest

from coaxly.job.folder.index import NAME, Index, find_job, open_job
from coaxly.job.folder.journal import Opened
from coaxly.job.folder.store import Store

JOBS = 4


@pytest.fixture
def shop(tmp_path):
    for k in range(JOBS):
        open_job(tmp_path, f"van {k}", {}, Opened(time="2026-11-25T10:00:00Z", title=f"van {k}"))
    with Index(tmp_path) as index:
        index.keep("seal", "1", {"x": 1.0})
    return tmp_path


def told(shop):
    with Index(shop) as index:
        return [row.title for row in index.rows()], index.next_number(), index.result("seal", "1")


def corrupted(dice, data):
    """Some bytes changed, cut, doubled or gone."""
    data = bytearray(data)
    kind = dice.randrange(4)
    if kind == 0:
        for _ in range(dice.randrange(1, 60)):
            data[dice.randrange(len(data))] = dice.randrange(256)
    elif kind == 1:
        del data[dice.randrange(len(data)) :]
    elif kind == 2:
        at = dice.randrange(len(data))
        data[at : at + dice.randrange(1, 4096)] = dice.randbytes(dice.randrange(4096))
    else:
        at = dice.randrange(len(data))
        data[at:at] = data[: dice.randrange(4096)]
    return bytes(data)


def attempt(shop, whole, dice):
    """The list, the next number and a result, from a damaged index: right, or worked out anew."""
    (shop / NAME).write_bytes(corrupted(dice, whole))
    titles, number, result = told(shop)
    assert sorted(titles) == [f"van {k}" for k in range(JOBS)] and number == JOBS + 1
    assert result in (None, {"x": 1.0})


def test_a_damaged_index_is_built_again(shop):
    whole, dice = (shop / NAME).read_bytes(), random.Random(1)
    for _ in range(150):
        attempt(shop, whole, dice)


def test_a_text_that_was_changed_in_a_whole_file_is_not_believed(shop):
    with sqlite3.connect(shop / NAME) as db:
        db.execute("UPDATE kept SET value = replace(value, 'van 2', 'van 9')")
    assert sorted(told(shop)[0])[2] == "van 2"
    assert told(shop)[2] is None  # begun anew


def test_a_locked_index_is_left_alone_and_costs_two_seconds_at_most(shop):
    (shop / "2026-11-25-van-1" / "job.toml").write_text(
        'title = "green van"\n'
    )  # so that there is something to write
    other = sqlite3.connect(shop / NAME, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    begun = time.monotonic()
    assert "green van" in told(shop)[0]
    assert time.monotonic() - begun < 2.0
    other.execute("ROLLBACK")
    other.close()
    assert told(shop)[2] == {"x": 1.0}


@pytest.mark.parametrize("code", [sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_READONLY])
def test_a_full_disk_deletes_no_good_index(shop, code, monkeypatch):
    (shop / "2026-11-25-van-1" / "job.toml").write_text('title = "green van"\n')
    error = sqlite3.OperationalError("of the disk")
    error.sqlite_errorcode = code

    def full(self, new, old):
        if self._path is not None:
            raise error
        Store_write(self, new, old)

    Store_write = Store._write
    monkeypatch.setattr(Store, "_write", full)
    assert "green van" in told(shop)[0]
    monkeypatch.undo()
    assert told(shop)[2] == {"x": 1.0}


def test_a_folder_in_place_of_the_index_stops_nothing(shop):
    for end in ("", "-wal", "-shm"):
        (shop / f"{NAME}{end}").unlink(missing_ok=True)
    (shop / NAME).mkdir()
    assert len(told(shop)[0]) == JOBS


@pytest.mark.parametrize(
    "number", ['"²"', '"' + "9" * 5000 + '"', str(2**64 - 1), "-7", '"A-12"', "1.5", "true"]
)
def test_a_number_of_any_kind_stops_no_other_job(shop, number):
    (shop / "2026-11-25-van-1" / "job.toml").write_text(f"number = {number}\n")
    job = open_job(shop, "bus", {}, Opened(time="2026-11-25T10:00:00Z", title="bus"))
    assert find_job(shop, "bus").folder == job.folder and find_job(shop, "5").folder == job.folder
    assert len(told(shop)[0]) == JOBS + 1
