"""Jobs that travel: what is packed can be unpacked, each in one step, and nobody's zip costs more than a job does."""

import os
import signal
import zipfile

import pytest
from shopping import Shop, finished_in

from coaxly.errors import Failure, UsageError
from coaxly.job.folder import packing
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Opened, Packed
from coaxly.job.folder.snapshot import look
from coaxly.logger import locks


def begin(shop, title="van"):
    return open_job(shop, title, {}, Opened(time="2026-11-25T10:00:00Z", title=title))


@pytest.fixture
def job(tmp_path):
    return begin(tmp_path / "shop")


def seen(folder):
    return sorted(path.name for path in folder.iterdir() if not path.name.startswith(".opening"))


@pytest.mark.parametrize(
    "name", ["a:b.txt", "back\\slash.txt", "bell\x07.txt", "\u202egpj.txt", "\udcff.txt", "Job.TOML"]
)
def test_what_unpack_would_refuse_is_refused_when_it_is_packed(job, tmp_path, name):
    (job.path / name).write_text("x")
    with pytest.raises(UsageError, match=r"(?s)not packed.*rename or move that first"):
        packing.pack(job, tmp_path / "van.zip")
    assert seen(tmp_path) == ["shop"]


@pytest.mark.parametrize("what", ["of 1970", "all zeros", "large and dull"])
def test_what_is_packed_can_be_unpacked(job, tmp_path, what):
    path = job.path / "more.txt"
    path.write_bytes(
        b"x" if what == "of 1970" else bytes(2 << 20) if what == "all zeros" else b"+0.1\n" * 800_000
    )
    if what == "of 1970":
        os.utime(path, (0, 0))
    packed = packing.pack(job, tmp_path / "van.zip")
    there = packing.unpack(tmp_path / "van.zip", tmp_path / "two")
    assert packed.files == 3 and (there.path / "more.txt").read_bytes() == path.read_bytes()


def test_what_does_not_go_with_a_job_is_said(tmp_path):
    shop = Shop(tmp_path / "shop")
    shop("job", "open", "van")
    path = shop.job("van").path
    (path / "more").mkdir()
    (path / "link").symlink_to("/etc/passwd")
    done = shop("job", "pack", "van", "-o", tmp_path / "van.zip")
    assert (
        done.code == 0
        and "! link is no file of the job and was left out" in done.err
        and "! more" in done.err
    )
    (packed,) = (each for each in look(shop.job("van")).records if isinstance(each, Packed))
    assert packed.file == str(tmp_path / "van.zip") and len(packed.sha256) == 64
    other = Shop(tmp_path / "two")
    other("job", "open", "bus")
    assert "number 1 is that of" in other("job", "unpack", tmp_path / "van.zip").err


def zipped(path, method=zipfile.ZIP_DEFLATED, size=100, count=1):
    with zipfile.ZipFile(path, "w", method) as file:
        file.writestr("van/job.toml", 'title = "van"\n')
        for k in range(count):
            file.writestr(f"van/{k}.bin", bytes(size))
    return path


@pytest.mark.parametrize("method", [zipfile.ZIP_LZMA, zipfile.ZIP_BZIP2])
def test_other_ways_of_packing_are_refused_damaged_or_not(tmp_path, method):
    data = zipped(tmp_path / "x.zip", method).read_bytes()
    for at in (None, 60, 70, 80):
        spoilt = data if at is None else data[:at] + bytes([data[at] ^ 0xFF]) + data[at + 1 :]
        (tmp_path / "x.zip").write_bytes(spoilt)
        with pytest.raises(UsageError, match=r"x\.zip"):
            packing.unpack(tmp_path / "x.zip", tmp_path / "shop")
    assert not (tmp_path / "shop").exists()


def test_many_small_files_that_grow_together_are_refused(tmp_path):
    source = zipped(tmp_path / "x.zip", size=1 << 20, count=60)
    with pytest.raises(UsageError, match="more than any job"):
        packing.unpack(source, tmp_path / "shop")


@pytest.mark.parametrize("k", range(1, 9))
def test_killed_at_any_moment_there_is_no_job_or_the_whole_one_and_the_next_clears_up(tmp_path, k):
    """A copy of this process is killed at the k-th doing on the disk."""
    shop = tmp_path / "shop"
    packing.pack(begin(tmp_path / "from"), tmp_path / "van.zip")
    child = os.fork()
    if child == 0:
        left = [k]

        def count(real):
            def counted(*arguments, **named):
                left[0] -= 1
                if left[0] <= 0:
                    os.kill(os.getpid(), signal.SIGKILL)
                return real(*arguments, **named)

            return counted

        for name in ("fsync", "rename", "mkdir"):
            setattr(os, name, count(getattr(os, name)))
        try:
            packing.unpack(tmp_path / "van.zip", shop)
        finally:
            os._exit(0)
    os.waitpid(child, 0)
    jobs = list(shop.glob("2026-*")) if shop.exists() else []
    assert all(
        seen(path) == ["job.toml", "journal.jsonl"] and look(packing.Job(path)).records for path in jobs
    )
    packing.unpack(tmp_path / "van.zip", shop)
    assert len(list(shop.glob("2026-*"))) == len(jobs) + 1 and not list(shop.glob(".unpacking-*"))


def test_a_pack_that_cannot_be_written_leaves_nothing(job, tmp_path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(Failure, match="No space"):
        packing.pack(job, tmp_path / "van.zip")
    assert seen(tmp_path) == ["shop"]


def test_a_pack_that_does_not_read_back_is_not_kept(job, tmp_path, monkeypatch):
    write = packing._write

    def badly(draft, files, method):
        write(draft, files, method)
        data = bytearray(draft.read_bytes())
        data[60] ^= 0xFF
        draft.write_bytes(data)

    monkeypatch.setattr(packing, "_write", badly)
    with pytest.raises(Failure, match="could not be read again"):
        packing.pack(job, tmp_path / "van.zip")
    assert seen(tmp_path) == ["shop"]


def test_a_disk_without_locks_is_told_from_another_writer_and_leaves_no_half_job(tmp_path, monkeypatch):
    shop = Shop(tmp_path / "shop")
    assert shop("job", "open", "van").code == 0

    def none(*_):
        raise OSError(37, "No locks available")

    monkeypatch.setattr(locks.fcntl, "flock", none)
    for words in (("job", "open", "bus"), ("job", "note", "van", "a word")):
        done = shop(*words)
        assert done.code == 2 and "keeps no locks" in done.err and "another program" not in done.err
    assert len(list(shop.folder.glob("2*"))) == 1
    assert shop("job", "list").code == 0


def test_a_finished_job_travels_whole(tmp_path):
    shop = finished_in(tmp_path / "shop")
    assert shop("job", "pack", "van", "-o", tmp_path / "van.zip").code == 0
    other = Shop(tmp_path / "two")
    assert other("job", "unpack", tmp_path / "van.zip").code == 0
    done = other("job", "show", "van")
    assert "!" not in done.err and "NEXT: write the report" in done.out
