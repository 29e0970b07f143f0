"""Folders of jobs, job.toml, the index beside them, and jobs that travel."""

import os
import re
import shlex
import stat
import subprocess
import sys
import zipfile

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.errors import UsageError
from coaxly.job.folder import details, packing
from coaxly.job.folder.index import NAME, Index, find_job, need_job, open_job
from coaxly.job.folder.journal import Note, Opened
from coaxly.job.folder.shop import Job, plain, shop_folder
from coaxly.job.folder.snapshot import look
from coaxly.job.steps.jobsteps import put_in
from coaxly.job.steps.leftoff import broken_off, left_off
from coaxly.logger.recording.records import FORMAT, VERSION, Header
from coaxly.logger.recording.writer import RecordingWriter


def opened(title, day="2026-11-25"):
    return Opened(time=f"{day}T10:00:00Z", title=title)


def begin(shop, title, **values):
    return open_job(shop, title, values, opened(title))


def test_the_shops_folder_is_the_first_that_anybody_named(tmp_path, monkeypatch):
    monkeypatch.setenv("COAXLY_SHOP", "/by/environment")
    assert str(shop_folder("/by/option", "/by/setting")) == "/by/option"
    assert str(shop_folder(None, "/by/setting")) == "/by/environment"
    monkeypatch.delenv("COAXLY_SHOP")
    assert str(shop_folder(None, "/by/setting")) == "/by/setting"
    assert shop_folder().name == "Coaxly"


@pytest.mark.parametrize("way", ["file", "file/shop", "nowhere"])
def test_where_no_folder_can_be_no_shop_is(way, tmp_path, monkeypatch):
    (tmp_path / "file").write_text("")
    (tmp_path / "nowhere").symlink_to(tmp_path / "gone")
    monkeypatch.chdir(tmp_path)
    for option, setting in ((way, ""), (str(tmp_path / way), ""), (None, way)):
        monkeypatch.setenv("COAXLY_SHOP", "" if option or setting else way)
        with pytest.raises(
            UsageError, match=f"{way.partition('/')[0]} is no folder, and a shop is one: name another"
        ):
            shop_folder(option, setting)
    van = begin(tmp_path / "shop", "van")
    monkeypatch.setenv("COAXLY_SHOP", way)
    assert van.called == str(van.path)  # the usual one is not asked for


def test_a_command_that_is_quoted_finds_its_shop_as_it_stands(tmp_path, monkeypatch):
    shop = tmp_path / "a shop"
    van = begin(shop, "blue van")
    assert find_job(tmp_path / "another", *shlex.split(van.called)) == van
    with pytest.raises(UsageError, match=f"'coaxly job list --shop '{shop}'' shows them"):
        need_job(shop, "tram")
    monkeypatch.setenv("COAXLY_SHOP", str(shop))
    assert van.called == van.folder
    with pytest.raises(UsageError, match="'coaxly job list' shows them"):
        need_job(shop, "tram")


def test_titles_become_plain_folders_and_a_taken_one_gets_a_number(tmp_path):
    assert (
        plain("Zoë's  blue VAN!") == "zoes-blue-van" and plain("../..") == "" and len(plain("x" * 500)) == 60
    )
    assert begin(tmp_path, "blue van").folder == "2026-11-25-blue-van"
    assert begin(tmp_path, "Blue Van").folder == "2026-11-25-blue-van-2"
    assert begin(tmp_path, "船").folder == "2026-11-25-job"


def test_a_job_is_found_by_folder_number_title_or_an_unambiguous_part(tmp_path):
    van, bus = begin(tmp_path, "blue van"), begin(tmp_path, "blue bus")
    for words in (van.folder, "1", "BLUE  van", "van", str(van.path)):
        assert find_job(tmp_path, words).folder == van.folder
    assert find_job(tmp_path, "2").folder == bus.folder
    with pytest.raises(UsageError, match=r"2026-11-25-blue-bus.*2026-11-25-blue-van"):
        find_job(tmp_path, "blue")
    assert find_job(tmp_path, "tram") is None and find_job(tmp_path / "nowhere", "van") is None
    with pytest.raises(UsageError, match="job list"):
        need_job(tmp_path, "tram")


def test_what_a_person_wrote_in_job_toml_is_kept(tmp_path, monkeypatch):
    job = begin(tmp_path, "van", limit="5thou")
    path = job.path / "job.toml"
    path.write_text("# mine\n" + path.read_text() + '\ncolour = "blue" # theirs\n')
    job.edit(limit="4thou")
    said = path.read_text()
    assert "# mine" in said and 'colour = "blue" # theirs' in said and look(job).details.limit == "4thou"

    draft = details.draft_of

    def edited_meanwhile(where, data):
        made = draft(where, data)
        if "by hand" not in path.read_text():
            path.write_text(path.read_text() + "# by hand\n")
        return made

    monkeypatch.setattr(details, "draft_of", edited_meanwhile)
    job.edit(limit="3thou")
    assert "# by hand" in path.read_text() and look(job).details.limit == "3thou"
    assert sorted(each.name for each in job.path.iterdir()) == ["job.toml", "journal.jsonl"]


@pytest.mark.parametrize(
    "text", ["title = [1", "limit = 5", 'block = "x"', "title = '\\ud800", "a=" + "[" * 5000]
)
def test_a_job_toml_that_cannot_be_understood_is_named_and_hides_no_other_job(tmp_path, text):
    job, other = begin(tmp_path, "van"), begin(tmp_path, "bus")
    (job.path / "job.toml").write_text(text)
    with pytest.raises(UsageError, match=r"job\.toml"):
        _ = look(job).details
    with Index(tmp_path) as index:
        rows = {row.folder: row for row in index.rows()}
    assert "job.toml" in rows[job.folder].amiss and not rows[other.folder].amiss


def test_the_index_is_built_again_when_it_is_gone_stale_or_rubbish(tmp_path):
    job = begin(tmp_path, "blue van", customer="Marigold")
    begin(tmp_path, "bus")
    job.note(Note(text="leaks oil"))
    with Index(tmp_path) as index:
        before = index.rows()
        assert [row.folder for row in index.rows("OIL marigold")] == [job.folder]
        index.keep("seal", "1", {"x": 1.0})
        assert index.result("seal", "1") == {"x": 1.0} and index.result("seal", "2") is None
    for spoil in (lambda path: path.unlink(), lambda path: path.write_bytes(b"rubbish" * 1000)):
        spoil(tmp_path / NAME)
        with Index(tmp_path) as index:
            assert index.rows() == before
    job.edit(title="green van")
    with Index(tmp_path) as index:
        assert [row.title for row in index.rows("green")] == ["green van"]
    (job.path / "journal.jsonl").unlink()
    (job.path / "job.toml").unlink()
    with Index(tmp_path) as index:
        assert [row.title for row in index.rows()] == ["bus"]


BUSY = """
import sys
from pathlib import Path
from coaxly.job.folder.index import open_job, need_job
from coaxly.job.folder.journal import Note, Opened
from coaxly.job.folder.snapshot import look
shop = Path(sys.argv[1])
for k in range(12):
    title = "van" if k % 2 else f"job {sys.argv[2]} {k}"
    open_job(shop, title, {}, Opened(time="2026-11-25T10:00:00Z", title=title))
    need_job(shop, "shared").note(Note(text=f"{sys.argv[2]}-{k}"))
"""


def test_two_programs_at_once_lose_nothing(tmp_path):
    shared = begin(tmp_path, "shared")
    both = [subprocess.Popen([sys.executable, "-c", BUSY, str(tmp_path), name]) for name in "ab"]
    assert [each.wait(120) for each in both] == [0, 0]
    with Index(tmp_path) as index:
        rows = index.rows()
    assert len(rows) == 25 and len({row.folder for row in rows}) == 25
    assert sorted(int(row.number) for row in rows) == list(range(1, 26))
    notes = {each.text for each in look(shared).records if isinstance(each, Note)}
    assert notes == {f"{name}-{k}" for name in "ab" for k in range(12)}


def test_a_job_travels(tmp_path):
    job = begin(tmp_path / "one", "van", limit="5thou")
    job.note(Note(text="kept"))
    assert packing.pack(job, tmp_path / "van.zip").files == 2
    there = packing.unpack(tmp_path / "van.zip", tmp_path / "two")
    again = packing.unpack(tmp_path / "van.zip", tmp_path / "two")
    assert (there.folder, again.folder) == (job.folder, f"{job.folder}-2")
    assert look(there).records == look(job).records and look(there).details == look(job).details
    with pytest.raises(UsageError, match="already"):
        packing.pack(job, tmp_path / "van.zip")


def packed(path, *entries):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data, mode in entries:
            info = zipfile.ZipInfo(name)
            info.external_attr = mode << 16
            info.compress_type = zipfile.ZIP_DEFLATED
            file.writestr(info, data)
    return path


FILE, TITLE = stat.S_IFREG | 0o644, b'title = "van"\n'


@pytest.mark.parametrize(
    "entry",
    [
        ("../evil.toml", b"x", FILE),
        ("van/../../evil", b"x", FILE),
        ("/evil", b"x", FILE),
        ("C:/evil", b"x", FILE),
        ("van/sub/evil", b"x", FILE),
        ("van/..\\evil", b"x", FILE),
        ("other/evil", b"x", FILE),
        ("van/JOB.toml", b"x", FILE),
        ("van/.hidden", b"x", FILE),
        ("van/link", b"/etc/passwd", stat.S_IFLNK | 0o777),
        ("van/bomb", bytes(50_000_000), FILE),
        ("van/" + "n" * 300, b"x", FILE),
        ("van/a\x1b[2Jb.jpg", b"x", FILE),
        ("van/a\u202egpj.exe", b"x", FILE),
    ],
    ids=lambda entry: ascii(entry[0][:20]),
)
def test_a_packed_job_that_would_do_harm_is_refused_and_leaves_nothing(tmp_path, entry):
    source = packed(tmp_path / "x.zip", ("van/job.toml", TITLE, FILE), entry)
    with pytest.raises(UsageError):
        packing.unpack(source, tmp_path / "shop")
    assert {path.name for path in tmp_path.rglob("*")} <= {"x.zip", "shop"}


@pytest.mark.parametrize(
    "name", ["rigs", "dials", "repeatability.toml", "shop.sqlite", "shop.sqlite-wal", "Z Z"]
)
def test_an_unpacked_job_is_called_as_any_other_whatever_the_sender_called_it(tmp_path, name):
    shop = tmp_path / "shop"
    said = b'title = "Blue Van"\nopened = "2026-11-25T10:00:00Z"\n'
    source = packed(
        tmp_path / "x.zip", (f"{name}/job.toml", said, FILE), (f"{name}/a.toml", b"sag = 1", FILE)
    )
    names = [packing.unpack(source, shop).folder for _ in range(2)]
    assert names == ["2026-11-25-blue-van", "2026-11-25-blue-van-2"]
    assert sorted(path.name for path in shop.iterdir() if path.is_dir()) == names
    begin(shop, "another")  # the index and all else still have their names


@given(opened=st.text(max_size=30), title=st.text(max_size=80))
def test_no_job_can_choose_a_folder_that_is_no_jobs(tmp_path_factory, opened, title):
    folder = tmp_path_factory.mktemp("x")
    record = msgspec.json.encode(Opened(time=opened, title=title))
    source = packed(folder / "x.zip", ("rigs/journal.jsonl", record + b"\n", FILE))
    there = packing.unpack(source, folder / "shop").folder
    assert re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}-[a-z0-9-]+", there)


def test_a_packed_job_whose_job_toml_cannot_be_read_is_refused_and_named_by_its_own_file(tmp_path):
    source = packed(tmp_path / "x.zip", ("van/job.toml", b"title = [", FILE))
    with pytest.raises(UsageError, match=r"x\.zip/job\.toml"):
        packing.unpack(source, tmp_path / "shop")
    assert list((tmp_path / "shop").iterdir()) == []


def test_a_packed_job_with_a_byte_changed_is_refused_and_leaves_nothing(tmp_path):
    whole = packed(tmp_path / "x.zip", ("van/job.toml", TITLE * 40, FILE)).read_bytes()
    for at in range(42, 60):  # in what was deflated
        (tmp_path / "x.zip").write_bytes(whole[:at] + bytes([whole[at] ^ 0xFF]) + whole[at + 1 :])
        with pytest.raises(UsageError, match="damaged"):
            packing.unpack(tmp_path / "x.zip", tmp_path / "shop")
    assert {path.name for path in tmp_path.rglob("*")} <= {"x.zip", "shop"}


def test_a_pipe_is_no_packed_job_and_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "x.zip")
    with pytest.raises(UsageError, match="no file"):
        packing.unpack(tmp_path / "x.zip", tmp_path / "shop")


def test_a_job_that_cannot_be_read_leaves_no_packed_file(tmp_path):
    job = begin(tmp_path / "shop", "van")
    (job.path / "job.toml").write_text("title = [")
    with pytest.raises(UsageError):
        packing.pack(job, tmp_path / "van.zip")
    assert not (tmp_path / "van.zip").exists()


def test_nothing_is_fitted_under_a_sweep_that_another_program_makes(tmp_path):
    job = begin(tmp_path, "van")
    head = Header(format=FORMAT, version=VERSION, created="")
    with RecordingWriter(job.path / "left-1.jsonl", head), pytest.raises(UsageError, match="is running"):
        put_in(look(job), ())
    put_in(look(job), ())


def test_a_journal_that_names_a_file_elsewhere_is_not_followed(tmp_path):
    with pytest.raises(UsageError, match="outside"):
        Job(tmp_path).file("../secret.jsonl")


def test_new_recordings_have_names_of_their_own(tmp_path):
    job = begin(tmp_path, "van")
    first = job.free_recording("found", "bore")
    first.write_text("")
    names = [first.name, job.free_recording("found", "bore").name, job.free_recording("left", "face").name]
    assert names == ["found-1.jsonl", "found-2.jsonl", "face-left-1.jsonl"]


def test_the_newest_sweep_that_was_broken_off_comes_last_however_many_there_are(tmp_path):
    job = begin(tmp_path, "van")
    for name in ("found-9", "found-10", "found-9-nudge-1", "left-1", "face-found-1", "after-shims-1"):
        header = Header(format=FORMAT, version=VERSION, created="2026-11-25T12:00:00Z")
        RecordingWriter(job.path / f"{name}.jsonl", header).close()
    found = broken_off(look(job), "found", "bore")
    assert [path.name for path in found] == ["found-9.jsonl", "found-10.jsonl"]
    off = left_off(look(job))
    assert off is not None and off.path == found[-1]
    assert [path.name for path in broken_off(look(job), "After shims", "bore")] == ["after-shims-1.jsonl"]
