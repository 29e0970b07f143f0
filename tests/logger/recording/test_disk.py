"""Whatever the disk does to a recording is said in words, and what was flushed stays."""

import errno
import os
import re
import threading
from itertools import pairwise
from pathlib import Path

import pytest

from coaxly.logger.errors import RecordingError, WriteError
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import FORMAT, VERSION, Header, Note, Raw, Seal, Station
from coaxly.logger.recording.seals import check_seals
from coaxly.logger.recording.writer import FLUSH_S, SEAL_S, RecordingWriter

HEADER = Header(format=FORMAT, version=VERSION, created="2026-03-02T09:14:05Z")
FULL = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


class Disk:
    """A file whose operations fail once they are told to."""

    def __init__(self, file):
        self._file, self.bad = file, set()

    def __getattr__(self, name):
        if name in self.bad:

            def fail(*_):
                raise FULL

            return fail
        return getattr(self._file, name)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "r.jsonl"


@pytest.fixture
def disk(monkeypatch):
    """What fails from now on, in every file that is opened for writing."""
    opened, real = [], Path.open
    bad = set()

    def open_(self, mode="r", **kwargs):
        file = real(self, mode, **kwargs)
        if mode not in ("xb", "r+b"):
            return file
        file = Disk(file)
        file.bad = bad
        opened.append(file)
        return file

    monkeypatch.setattr(Path, "open", open_)
    yield bad
    bad.clear()
    for file in opened:
        file.close()


def join_disk():
    """What is forced to the disk meanwhile is there."""
    for thread in threading.enumerate():
        if thread.name == "disk":
            thread.join()


def kept(path):
    return [record for block in RecordingReader(path).blocks() for record in block]


def test_a_disk_that_is_full_at_the_start_leaves_no_empty_file(path, disk):
    disk.add("flush")
    with pytest.raises(WriteError, match=r"cannot write .*r\.jsonl: No space left") as caught:
        RecordingWriter(path, HEADER)
    assert caught.value.cause.errno == errno.ENOSPC and caught.value.path == path
    assert not path.exists()
    assert "Nothing was recorded: make room on that disk, then" in str(caught.value)
    assert "name a file" not in str(caught.value) and caught.value.exit_code == 3


@pytest.mark.parametrize("operation", ["write", "flush"])
def test_a_disk_that_fills_keeps_what_was_flushed(path, disk, operation):
    writer = RecordingWriter(path, HEADER)
    writer.write(Station(0.1, 45.0))
    disk.add(operation)
    with pytest.raises(WriteError, match=r"No space left.*The sweep has stopped; .*: make room on that disk"):
        writer.write(Note(0.2, "x"))
    disk.clear()
    writer.abandon()
    assert kept(path)[0] == Station(0.1, 45.0)
    writer.abandon()


@pytest.mark.parametrize("operation", ["write", "flush"])
def test_a_quiet_moment_finds_the_full_disk_too(path, disk, operation):
    writer = RecordingWriter(path, HEADER)
    writer.write(Raw(0.1, "indicator", "+1\n"))
    disk.add(operation)
    with pytest.raises(WriteError, match="No space left"):
        writer.tick(SEAL_S + 1.0)


def test_a_flush_that_is_due_finds_it_before_a_seal_is(path, disk):
    writer = RecordingWriter(path, HEADER)
    writer.write(Raw(0.1, "indicator", "+1\n"))
    disk.add("flush")
    writer.tick(FLUSH_S / 2)
    with pytest.raises(WriteError):
        writer.tick(FLUSH_S)


def test_a_disk_that_breaks_under_a_seal_is_said(path, monkeypatch):
    writer = RecordingWriter(path, HEADER)
    writer.write(Station(0.1, 45.0))

    def broken(_):
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    with monkeypatch.context() as here:
        here.setattr(os, "fsync", broken)
        with pytest.raises(WriteError, match="Input/output error"):
            writer.close()
    # The file is closed all the same, and what was flushed reads.
    assert kept(path)[0] == Station(0.1, 45.0)
    RecordingWriter.resume(path).close()


def test_a_folder_that_is_removed_meanwhile_is_said(path):
    writer = RecordingWriter(path, HEADER)
    writer.write(Station(0.1, 45.0))
    path.unlink()
    with pytest.raises(WriteError, match="removed meanwhile"):
        writer.seal()
    writer.abandon()


def test_a_file_that_cannot_be_closed_is_said(path, disk):
    writer = RecordingWriter(path, HEADER)
    disk.add("close")
    with pytest.raises(WriteError, match="No space left"):
        writer.abandon()


@pytest.mark.parametrize("operation", ["read", "truncate", "seek"])
def test_going_on_is_refused_where_the_disk_will_not(path, disk, operation):
    RecordingWriter(path, HEADER).close()
    before = path.read_bytes()
    disk.add(operation)
    with pytest.raises(WriteError, match=re.escape(str(path))):
        RecordingWriter.resume(path)
    assert path.read_bytes() == before


def test_going_on_with_a_file_that_is_not_there_is_refused(path):
    with pytest.raises(WriteError, match=r"No such file.*Nothing was recorded"):
        RecordingWriter.resume(path)


def test_a_recording_that_is_there_is_not_said_to_have_stopped(path):
    RecordingWriter(path, HEADER).close()
    with pytest.raises(WriteError, match=r"never written over") as caught:
        RecordingWriter(path, HEADER)
    assert "stopped" not in str(caught.value)


def test_going_on_cuts_half_a_line_away_and_seals_over_the_rest(path):
    writer = RecordingWriter(path, HEADER)
    writer.write(Station(0.1, 45.0))
    writer.abandon()
    whole = path.read_bytes()
    path.write_bytes(whole + b'{"t":0.2,"kind":"sta')
    with RecordingWriter.resume(path) as again:
        again.write(Station(0.3, 90.0))
    assert path.read_bytes().startswith(whole)
    assert [r for r in kept(path) if not isinstance(r, Seal)] == [Station(0.1, 45.0), Station(0.3, 90.0)]
    assert check_seals(path).state == "unfinished"  # sealed to its last line, without an end


def test_nobody_else_writes_the_same_recording(path):
    with RecordingWriter(path, HEADER), pytest.raises(RecordingError, match="another program"):
        RecordingWriter.resume(path)
    RecordingWriter.resume(path).close()


def test_a_second_close_does_nothing(path):
    writer = RecordingWriter(path, HEADER)
    writer.close()
    size = path.stat().st_size
    writer.close()
    assert path.stat().st_size == size
    assert sum(isinstance(record, Seal) for record in kept(path)) == 1


def test_bytes_wait_in_memory_no_longer_than_promised(path):
    writer = RecordingWriter(path, HEADER)
    size = path.stat().st_size
    writer.write(Raw(FLUSH_S / 2, "indicator", "+1\n"))
    assert path.stat().st_size == size
    writer.write(Raw(FLUSH_S, "indicator", "+1\n"))
    assert path.stat().st_size > size
    size = path.stat().st_size
    writer.write(Raw(FLUSH_S * 1.5, "indicator", "+1\n"))
    writer.tick(FLUSH_S * 1.5)
    assert path.stat().st_size == size
    writer.tick(FLUSH_S * 2)
    assert path.stat().st_size > size
    writer.abandon()


def test_a_power_cut_costs_two_seconds_at_most(path, monkeypatch):
    """Sealed, and forced to the disk, at least every two seconds while bytes come; a flush each half second."""
    forced = []
    monkeypatch.setattr(os, "fsync", lambda _: forced.append(1))
    writer = RecordingWriter(path, HEADER)
    for k in range(100):
        writer.write(Raw(k / 10, "indicator", "+1\n"))
        join_disk()
        written = [r.t for r in kept(path) if isinstance(r, Raw)]
        assert k / 10 - (written[-1] if written else 0.0) <= 0.5 + 1e-9
    seals = [0.0] + [record.t for record in kept(path) if isinstance(record, Seal)]
    assert all(later - sooner <= 2.0 + 1e-9 for sooner, later in pairwise(seals))
    assert seals[-1] >= 7.9 and len(forced) == len(seals)  # its name, once
    writer.close()


def test_a_slow_disk_holds_nobody_but_whoever_closes(path, monkeypatch):
    let, forced = threading.Event(), []
    writer = RecordingWriter(path, HEADER)
    monkeypatch.setattr(os, "fsync", lambda _: (let.wait(), forced.append(1)))
    for k in range(100):
        writer.write(Raw(k / 10, "indicator", "+1\n"))
    assert not forced and kept(path)[-1] == Raw(9.5, "indicator", "+1\n")
    let.set()
    writer.close()
    assert len(forced) == 2 and check_seals(path).state == "unfinished"


@pytest.mark.parametrize("then", ["write", "tick", "close"])
def test_a_disk_that_breaks_meanwhile_is_said(path, monkeypatch, then):
    writer = RecordingWriter(path, HEADER)

    def broken(_):
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    monkeypatch.setattr(os, "fsync", broken)
    writer.write(Raw(SEAL_S, "indicator", "+1\n"))
    join_disk()
    last = Raw(2 * SEAL_S, "indicator", "+1\n")
    if then == "tick":
        writer.write(Raw(SEAL_S + 0.1, "indicator", "+1\n"))
    with pytest.raises(WriteError, match="Input/output error"):
        writer.close() if then == "close" else writer.tick(last.t) if then == "tick" else writer.write(last)
    writer.abandon()
