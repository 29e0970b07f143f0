"""The files of a job that are gone, or others in their place: told by the list, by every command, by the audit
and by the report.
"""

import io
import json
import shutil
from contextlib import redirect_stdout

import pytest
from PIL import Image
from shopping import finished_in

from coaxly.job.folder.index import Index
from coaxly.job.folder.snapshot import look
from coaxly.job.steps.noting import catch_up
from coaxly.main import main


@pytest.fixture
def shop(tmp_path):
    shop = finished_in(tmp_path / "shop")
    assert shop("job", "open", "red bus").code == 0
    return shop


def audit(*words):
    """Exit code and output."""
    out = io.StringIO()
    with redirect_stdout(out):
        code = main(["audit", *map(str, words)])
    return code, out.getvalue()


def audited(shop, words="van"):
    """Exit code of an audit of the whole shop, and what it says of each file of the van, or another, by name."""
    code, out = audit(shop.folder, "--json")
    found = json.loads(out)["recordings"]
    return code, {each["path"].rpartition("/")[2]: each for each in found if words in each["path"]}


def test_a_whole_job_is_told_as_whole(shop):
    for words in (("job", "list"), ("job", "show", "van")):
        done = shop(*words)
        assert done.code == 0 and "!" not in done.out + done.err
    code, found = audited(shop)
    assert code == 0 and {each["state"] for each in found.values()} == {"ok"}
    assert set(found) == {"found-1.jsonl", "left-1.jsonl", "job.toml", "journal.jsonl"}


def test_a_recording_that_was_changed_shows_where_the_job_is_shown(shop):
    path = shop.job("van").path / "found-1.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    lines[5] = lines[5].replace(b"0", b"1", 1)
    path.write_bytes(b"".join(lines))
    done = shop("job", "show", "van")
    assert done.code == 0
    assert "! found-1.jsonl: it was changed since it was written (bytes were changed" in done.err
    assert done.err.count("found-1.jsonl: ") == 1 and "put back a copy that is whole" in done.err


@pytest.mark.parametrize("there", ["deleted", "replaced"])
def test_a_recording_that_is_gone_or_another_shows_in_the_list_and_in_every_command(shop, there):
    path = shop.job("van").path / "left-1.jsonl"
    path.unlink()
    if there == "replaced":
        shutil.copy(path.with_name("found-1.jsonl"), path)
    words = "not in the folder any more" if there == "deleted" else "not the recording that the journal noted"
    listed = shop("job", "list")
    assert listed.code == 0 and f"! left-1.jsonl: {words}" in listed.out and "red bus" in listed.out
    assert words in json.loads(shop("job", "list", "van", "--json").out)["jobs"][0]["amiss"]
    assert f"! left-1.jsonl: {words}" in shop("job", "show", "van").err
    code, found = audited(shop)
    assert code == 1 and found["journal.jsonl"]["state"] == (
        "incomplete" if there == "deleted" else "changed"
    )


@pytest.mark.parametrize("as_what", ["folder", "huge", "bytes"])
def test_a_journal_that_is_none_spoils_no_list(shop, as_what):
    path = shop.job("bus").path / "journal.jsonl"
    path.unlink()
    if as_what == "folder":
        path.mkdir()
    elif as_what == "bytes":
        path.write_bytes(b"\xff\x00{" * 1000)
    else:
        with path.open("wb") as file:
            file.truncate(70 << 20)
    listed = shop("job", "list")
    assert listed.code == 0 and "blue van" in listed.out and "red bus" in listed.out
    assert shop("job", "show", "red bus").code in (0, 2) and shop("job", "show", "van").code == 0
    code, found = audited(shop, "bus")
    assert code == 1 and found["job.toml"]["state"] == "ok" and found["journal.jsonl"]["state"] != "ok"


def test_a_lost_journal_is_told_and_none_begins_by_itself(shop):
    path = shop.job("van").written
    path.unlink()
    done = shop("job", "show", "van")
    assert "journal.jsonl is not there: what was chosen, fitted and proved before is not known" in done.err
    assert not path.exists()
    code, found = audited(shop)
    assert code == 1 and "is gone or empty" in found["journal.jsonl"]["what"]
    path.touch()
    code, found = audited(shop)
    assert code == 1 and "is gone or empty" in found["journal.jsonl"]["what"]


def test_an_audit_says_a_path_once(shop):
    path = shop.folder / "x.jsonl"
    path.touch()
    line = audit(path)[1].splitlines()[0]
    assert line.count(str(path)) == 1 and "empty" in line


def test_strangers_and_copies_do_not_pass_an_audit(shop):
    job = shop.job("van")
    shutil.copy(job.path / "found-1.jsonl", job.path / "found-7.jsonl")
    shutil.copy(job.written, job.path / "journal (conflicted copy 1).jsonl")
    (job.path / "notes.jsonl").write_text("a shopping list\n")
    code, found = audited(shop)
    said = found["journal.jsonl"]
    assert code == 1 and said["state"] == "incomplete"
    assert "found-7.jsonl is not the job's: it is a copy of found-1.jsonl" in said["what"]
    assert "another copy of the journal" in said["what"] and "notes.jsonl is not the job's" in said["what"]
    assert "another copy of the journal" in shop("job", "show", "van").err
    assert len(catch_up(look(job)).strangers) == 3


def test_a_job_toml_that_cannot_be_read_or_was_edited_by_hand_does_not_pass_an_audit(shop):
    path = shop.job("van").path / "job.toml"
    whole = path.read_text()
    path.write_text(whole.replace('limit = "5thou"', 'limit = "40thou"'))
    code, found = audited(shop)
    assert code == 1 and found["job.toml"]["state"] == "changed" and "40thou" in found["job.toml"]["what"]
    assert shop("job", "changed", "van").code == 0 and audited(shop)[0] == 0
    path.write_text("title = [")
    code, found = audited(shop)
    assert code == 1 and found["job.toml"]["state"] == "unreadable"
    assert found["journal.jsonl"]["state"] == "ok"


def picture(path, colour):
    out = io.BytesIO()
    Image.new("RGB", (40, 30), colour).save(out, "PNG")
    path.write_bytes(out.getvalue())
    return path


def test_a_picture_or_report_that_was_replaced_is_told_and_not_shown(shop, tmp_path):
    assert shop("job", "photo", "van", picture(tmp_path / "dial.png", "red")).code == 0
    assert shop("report", "van").code == 0
    job = shop.job("van")
    assert audited(shop)[0] == 0 and "data:image/jpeg" in (job.path / "report.html").read_text()
    picture(job.path / "dial.png", "blue")
    (job.path / "report.html").write_text("<p>INSIDE</p>")
    assert shop("job", "show", "van").err.count("not the file that was put there") == 2
    code, found = audited(shop)
    assert code == 1 and "dial.png, report.html there: not the file" in found["journal.jsonl"]["what"]
    page = tmp_path / "r.html"
    shop("report", "van", "-o", page)
    assert "not shown, it is not the picture that was taken in" in page.read_text()
    assert "data:image/jpeg" not in page.read_text()
    (job.path / "dial.png").unlink()
    assert "dial.png: not in the folder any more" in shop("job", "show", "van").err


def test_the_list_sees_a_change_of_a_recording_although_nothing_else_changed(shop):
    with Index(shop.folder) as index:
        before = index.stamps()
    path = shop.job("van").path / "found-1.jsonl"
    path.write_bytes(path.read_bytes()[:-9])
    with Index(shop.folder) as index:
        changed = {name for name, stamp in index.stamps().items() if before[name] != stamp}
        lost = {row.title: row.lost.other for row in index.rows()}
    assert len(changed) == 1 and lost == {"blue van": ("found-1.jsonl",), "red bus": ()}


@pytest.mark.parametrize(
    "name",
    [
        "job (conflicted copy 2026-11-28).toml",
        "Job.toml",
        "JOURNAL.jsonl",
        "job.sync-conflict-1.toml",
        "job-2.TOML",
        "job_conflict-1.toml",
        "job.toml (1)",
        "journal.jsonl.part",
        "found-2.jsonl.partial",
    ],
)
def test_what_a_folder_that_several_machines_share_leaves_is_named(shop, name):
    job = shop.job("van")
    (job.path / name).write_bytes((job.path / "job.toml").read_bytes())
    if name == "JOURNAL.jsonl":
        (job.path / name).write_bytes(job.written.read_bytes())
    assert name in shop("job", "show", "van").err and f"{name}: another copy" in shop("job", "list").out
    code, found = audited(shop)
    assert code == 1 and name in found["journal.jsonl"]["what"]


def test_what_a_program_writes_or_an_editor_keeps_is_no_copy(shop):
    for name in (".journal.jsonl.0123abcd", ".found-2.jsonl.tmp", "job.toml~", "notes.txt"):
        (shop.job("van").path / name).write_bytes(b"x")
    assert "!" not in shop("job", "list").out + shop("job", "show", "van").err


def test_a_whole_job_that_is_there_twice_is_named_and_each_has_its_line(shop):
    path = shop.job("van").path
    twin = path.with_name(f"{path.name} (conflicted copy)")
    shutil.copytree(path, twin)
    lines = shop("job", "list").out.splitlines()
    assert sum(f"is the same job as {path.name}: keep the better" in line for line in lines) == 1
    assert sum(f"{path.name} is the same job as {twin.name}: " in line for line in lines) == 1
    rows = json.loads(shop("job", "list", "--json").out)["jobs"]
    assert sorted(bool(row["amiss"]) for row in rows) == [False, True, True]
    code, out = audit(shop.folder)
    [told, other] = sorted(line for line in out.splitlines() if "the same job lies in" in line)
    assert code == 1 and told.startswith("incomplete") and other.startswith("incomplete")
    for one, two in ((path, twin), (twin, path)):
        assert any(
            f"{one}/journal.jsonl" in line and f"lies in {two.name} too" in line for line in (told, other)
        )
    shutil.rmtree(twin)
    assert audit(shop.folder)[0] == 0
    assert "!" not in shop("job", "list").out


def test_a_recording_that_is_half_there_is_named(shop):
    path = shop.job("van").path / "left-1.jsonl"
    path.write_bytes(path.read_bytes()[:700])
    assert "left-1.jsonl: not the recording that the journal noted" in shop("job", "list").out
    assert audited(shop)[0] == 1
