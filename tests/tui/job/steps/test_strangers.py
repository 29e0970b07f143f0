"""A job goes by its own recordings: what else lies in its folder is named and left alone."""

import os
import shutil
import subprocess
import sys

import pytest
from making import RECORDINGS, THOU, swept
from shopping import SWEEP, Shop, finished_in, readings

from coaxly.errors import UsageError
from coaxly.job.folder import journal
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Opened, Sweep, now
from coaxly.job.folder.snapshot import look
from coaxly.job.steps.choosing import basis
from coaxly.job.steps.leftoff import broken_off, left_off
from coaxly.job.steps.noting import catch_up, take_in
from coaxly.job.steps.proving import pair_of
from coaxly.job.steps.wishes import Wish
from coaxly.job.sweep.begin import new_header
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.logger.rig.engine import Engine

BORE = Engine(centre=(-5 * THOU, 5 * THOU), noise=0.1 * THOU)


@pytest.fixture
def finished(tmp_path):
    """A shop with a job that was found, fitted, swept again, proved, reported and closed."""
    shop = finished_in(tmp_path / "shop")
    for words in (("report", "van"), ("job", "close", "van")):
        assert shop(*words).code == 0
    return shop


@pytest.fixture
def van(tmp_path):
    return open_job(tmp_path / "shop", "blue van", {}, Opened(time=now(), title="blue van"))


def own(van, name="found-1.jsonl", seed=1, **header):
    """A finished recording of the job that is not noted, as a program leaves it that is killed there."""
    header = {"job": "blue van", "stage": "found", "created": now(), **header}
    return swept(van.path / name, BORE, seed=seed, **header)


def whys(job):
    return {each.path.name: each.why for each in catch_up(look(job)).strangers}


def sweeps(job):
    return [record for record in look(job).records if isinstance(record, Sweep)]


@pytest.mark.parametrize("command", [("job", "show", "van"), ("plan", "van"), (*SWEEP, "--stage", "left")])
def test_a_copy_of_a_noted_recording_does_not_throw_a_finished_job_back(finished, command):
    job = finished.job("van")
    shutil.copy(job.path / "found-1.jsonl", job.path / "found-2.jsonl")
    before = look(job).records
    done = finished(*command, typed=readings(0, 0))
    assert "found-2.jsonl is not gone by: it is a copy of found-1.jsonl" in done.err
    assert look(job).records[: len(before)] == before and look(job).state.found.file == "found-1.jsonl"
    assert len(sweeps(job)) == (3 if "--stage" in command else 2)


@pytest.mark.parametrize("stage", ["found", "left"])
def test_a_recording_of_another_job_is_named_and_left_alone(finished, stage):
    job = finished.job("van")
    shutil.copy(RECORDINGS / f"launch-{stage}.jsonl", job.path / f"{stage}-9.jsonl")
    done = finished("job", "show", "van")
    assert f"{stage}-9.jsonl is not gone by: it was made for another job, 'launch-marigold'" in done.err
    assert f"coaxly job take {job.path} {stage}-9.jsonl" in done.err
    assert look(job).state.next == "done" and len(sweeps(job)) == 2


@pytest.mark.parametrize(
    ("as_what", "words"),
    [("link", "a link to a file that is not there"), ("pipe", "a pipe"), ("folder", "a folder")],
)
def test_what_is_no_file_is_named_and_its_name_is_not_taken_again(tmp_path, as_what, words):
    shop = Shop(tmp_path / "shop")
    assert shop("job", "open", "blue van", "--limit", "5thou").code == 0
    path = shop.job("van").path / "found-1.jsonl"
    make = {"link": lambda: path.symlink_to(tmp_path / "gone"), "pipe": lambda: os.mkfifo(path)}
    make.get(as_what, path.mkdir)()
    assert shop(*SWEEP, typed=readings(-5, 5)).code == 1
    done = shop("job", "show", "van")
    assert f"found-1.jsonl is not gone by: it cannot be read (it is {words}" in done.err.replace(
        "no file but ", ""
    )
    assert list(look(shop.job("van")).sweeps) == ["found-2.jsonl"] and not (tmp_path / "gone").exists()


def test_a_recording_of_another_job_with_the_same_title_is_not_taken_for_one_of_this(tmp_path):
    shop = Shop(tmp_path)
    for _ in range(2):
        assert shop("job", "open", "blue van", "--limit", "5thou").code == 0
    one, other = shop.job("1"), shop.job("2")
    assert shop("sweep", "--job", "1", *SWEEP[3:], typed=readings(-5, 5)).code == 1
    shutil.copy(one.path / "found-1.jsonl", other.path / "found-1.jsonl")
    done = shop("job", "show", "2")
    assert "begun when the journal held lines that are not in it now" in done.err and not sweeps(other)


def test_what_came_late_is_damaged_unsealed_or_of_no_known_stage_is_named(van):
    own(van, "found-1.jsonl")
    assert catch_up(look(van)).noted == ["found-1.jsonl"]
    own(van, "found-2.jsonl", seed=2, created="2026-01-01T00:00:00Z")
    own(van, "found-3.jsonl", seed=3, stage="after lunch")
    path = own(van, "found-4.jsonl", seed=4)
    path.write_bytes(path.read_bytes().replace(b"+0", b"+1", 1))
    path = own(van, "found-5.jsonl", seed=5)
    bare = [
        line for line in path.read_bytes().splitlines(True) if b'"seal"' not in line and b'"end"' not in line
    ]
    path.write_bytes(b"".join(bare).replace(b'"ends":true', b'"ends":false'))
    (van.path / "found-6.jsonl").write_text("a shopping list\n")
    own(van, "found-7.jsonl", seed=7, job="")
    assert whys(van) == {
        "found-2.jsonl": "late", "found-3.jsonl": "stage", "found-4.jsonl": "damaged",
        "found-5.jsonl": "unsealed", "found-6.jsonl": "unreadable", "found-7.jsonl": "job",
    }  # fmt: skip
    assert len(sweeps(van)) == 1


def test_a_sweep_that_was_finished_and_not_noted_is_noted_once_and_its_copies_are_not(van):
    own(van, "found-1.jsonl")
    shutil.copy(van.path / "found-1.jsonl", van.path / "found-10.jsonl")
    caught = catch_up(look(van))
    assert caught.noted == ["found-1.jsonl"] and [each.what for each in caught.strangers] == ["found-1.jsonl"]
    (van.path / "found-1.jsonl").rename(van.path / "found-2.jsonl")
    assert set(whys(van).values()) == {"copy"} and len(sweeps(van)) == 1


@pytest.mark.parametrize("name", ["w/nosuch.jsonl", "../found-9.jsonl"])
def test_a_path_is_no_name_of_a_recording_and_the_journal_is_not_blamed(van, name):
    with pytest.raises(UsageError, match="give the bare name of one that lies in it") as refused:
        take_in(look(van), name)
    assert name in str(refused.value) and "journal" not in str(refused.value)


def test_a_sweep_that_is_not_over_is_not_taken_and_told_how_it_goes_on(van):
    path = van.path / "found-9.jsonl"
    RecordingWriter(path, new_header()).close()
    with pytest.raises(UsageError) as refused:
        take_in(look(van), path.name)
    assert str(refused.value).endswith(f"never finished: coaxly sweep --resume {path} --port PORT")


def test_what_belongs_after_all_is_taken_in_by_name_and_the_journal_says_so(finished):
    job = finished.job("van")
    shutil.copy(RECORDINGS / "launch-found.jsonl", job.path / "found-9.jsonl")
    refused = finished("job", "take", "van", "found-9.jsonl")
    assert refused.code == 2 and "made for another job, 'launch-marigold'" in refused.err
    with pytest.raises(UsageError, match="--anyway only"):
        take_in(look(job), "found-9.jsonl")
    assert "taken in by hand" in finished("job", "take", "van", "found-9.jsonl", "--anyway").out
    last = sweeps(job)[-1]
    assert (last.file, last.taken, bool(last.seal)) == ("found-9.jsonl", "job", True)
    assert "taken in by hand" in finished("job", "show", "van").out
    again = finished("job", "take", "van", "found-9.jsonl", "--anyway")
    assert again.code == 2 and "already" in again.err
    page = finished.folder / "r.html"
    assert finished("report", "van", "-o", page, "--anyway").code == 0
    assert "made for another job, &#39;launch-marigold&#39;, and taken in by hand" in page.read_text()


def test_a_stage_is_said_for_a_recording_that_has_none_of_ours(van):
    own(van, "x.jsonl", stage="after lunch")
    with pytest.raises(UsageError, match="--stage found or --stage left"):
        take_in(look(van), "x.jsonl")
    assert take_in(look(van), "x.jsonl", "left").stage == "left"


@pytest.mark.parametrize("spoil", ["copy", "damaged", "gone"])
def test_what_cannot_belong_is_not_taken_in(finished, spoil):
    job = finished.job("van")
    path = shutil.copy(job.path / "found-1.jsonl", job.path / "found-2.jsonl")
    if spoil == "damaged":
        path.write_bytes(path.read_bytes().replace(b"0.00", b"0.01", 1))
    if spoil == "gone":
        path.unlink()
    before = look(job).records
    assert finished("job", "take", "van", "found-2.jsonl").code == 2
    assert look(job).records == before


def test_a_sweep_of_another_job_that_was_broken_off_is_not_offered_to_go_on_with(van):
    from coaxly.logger.recording.records import FORMAT, VERSION, Header

    for name, job in (("found-1", "blue van"), ("found-2", "another")):
        header = Header(format=FORMAT, version=VERSION, created=now(), job=job, stage="found")
        RecordingWriter(van.path / f"{name}.jsonl", header).close()
    assert [path.name for path in broken_off(look(van), "found", "bore")] == ["found-1.jsonl"]
    assert left_off(look(van)).path.name == "found-1.jsonl"
    assert whys(van) == {"found-2.jsonl": "job"}


AT_ONCE = """
import sys
from pathlib import Path
from coaxly.job.folder import journal
from coaxly.job.folder.shop import Job
from coaxly.job.steps.noting import catch_up
from coaxly.job.folder.snapshot import look
job = Job(Path(sys.argv[1]))
opened, fits = journal._held, []
def together(path):
    # Both programs have looked at the folder before either writes.
    Path(sys.argv[2]).write_text("")
    while not Path(sys.argv[3]).exists():
        pass
    return opened(path)
journal._held = together
catch_up(look(job))
"""


def test_two_programs_at_once_note_a_sweep_once(van, tmp_path):
    own(van)
    marks = [tmp_path / "a", tmp_path / "b"]
    both = [
        subprocess.Popen([sys.executable, "-c", AT_ONCE, str(van.path), str(mine), str(theirs)])
        for mine, theirs in (marks, marks[::-1])
    ]
    assert [each.wait(120) for each in both] == [0, 0]
    assert [record.file for record in sweeps(van)] == ["found-1.jsonl"]
    assert journal.read(van.written).unproved == []


def test_nothing_is_written_or_sealed_where_nothing_is_noted(van):
    forged = b'{"kind":"fitted","dowels":[[0.3,10.0],[0.3,10.0]]}\n'
    van.written.write_bytes(van.written.read_bytes() + forged)
    before = van.written.read_bytes()
    assert van.note_sweeps() == [] and van.written.read_bytes() == before


def test_a_recording_put_in_the_place_of_a_noted_one_is_refused(finished):
    job = finished.job("van")
    shutil.copy(RECORDINGS / "launch-found.jsonl", job.path / "found-1.jsonl")
    for command in (("plan", "van"), ("verify", "van"), ("report", "van")):
        done = finished(*command)
        assert done.code == 2 and "is not the recording that the journal noted by that name" in done.err
    assert "is not the recording" in finished("plan", "van", "--anyway").err
    assert [each.kind for each in basis(look(job), Wish()).doubts] == ["not_noted"]
    assert "not_noted" in [each.kind for each in pair_of(look(job), Wish()).doubts]


def two_swept(folder):
    """A shop with two jobs, each swept as found, and the recording of the first in the folder of the second."""
    shop = Shop(folder)
    for title in ("red lorry", "blue van"):
        assert shop("job", "open", title, "--limit", "5thou", "--kit", "5thou,7thou").code == 0
    assert shop("sweep", "--job", "red", *SWEEP[3:], typed=readings(-5, 5)).code == 1
    assert shop(*SWEEP, typed=readings(-4, 3)).code == 1
    shutil.copy(shop.job("red").path / "found-1.jsonl", shop.job("van").path / "other.jsonl")
    return shop


def test_a_recording_begun_in_another_job_is_that_job_s_and_taken_in_only_when_it_is_said_twice(tmp_path):
    shop = two_swept(tmp_path)
    assert "other.jsonl is not gone by: it was made for another job, 'red lorry'; " in (
        told := shop("job", "show", "van").err
    )
    assert told.rstrip().endswith("other.jsonl --anyway")
    refused = shop("job", "take", "van", "other.jsonl")
    assert refused.code == 2 and "'red lorry'" in refused.err and len(sweeps(shop.job("van"))) == 1
    assert shop("job", "take", "van", "other.jsonl", "--anyway").code == 0
    page = tmp_path / "r.html"
    shop("report", "van", "-o", page, "--anyway")
    assert "made for another job, &#39;red lorry&#39;, and taken in by hand" in page.read_text()


def test_a_job_whose_recording_is_gone_goes_on_with_another_sweep(tmp_path):
    shop = two_swept(tmp_path)
    assert shop("job", "take", "van", "other.jsonl", "--anyway").code == 0
    (shop.job("van").path / "other.jsonl").unlink()
    for command in ("plan", "report"):
        refused = shop(command, "van")
        said = refused.err.splitlines()[-1]
        assert refused.code == 2 and "other.jsonl is not there any more" in said
        assert said.endswith(f"coaxly sweep --job {shop.job('van').called} --stage found")
    assert shop(*SWEEP, "--stage", "found", typed=readings(-4, 3)).code == 1
    assert shop("plan", "van").code == 0
    page = tmp_path / "r.html"
    assert shop("report", "van", "-o", page).code == 0
    assert "not in the folder any more" in page.read_text()


def test_what_is_no_sweep_as_found_any_more_is_not_asked_for_as_one(tmp_path):
    shop = two_swept(tmp_path)
    assert shop("job", "fitted", "van", "5thou@90").code == 0
    (shop.job("van").path / "found-1.jsonl").unlink()
    refused = shop("plan", "van")
    assert refused.code == 2 and "take the dowels out, say so, and sweep once more as found" in refused.err
    assert "as found" in shop(*SWEEP, "--stage", "found").err
