"""The list of jobs: where the work stands, what is looked for, and where everything else begins."""

import asyncio
import shutil
import tempfile
import threading
from contextlib import ExitStack
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import product
from pathlib import Path
from typing import get_args

import clockwork
import pytest
from clockwork import until
from making import RECORDINGS
from screening import press, rows, words
from shopping import lay_in

from coaxly.entry.preferences import Memory, Preferences
from coaxly.job.folder import index
from coaxly.job.folder.index import Row, open_job
from coaxly.job.folder.journal import Answer, Chosen, Closed, Opened, Sweep, now
from coaxly.job.folder.progress import Next
from coaxly.job.steps.leftoff import LeftOff
from coaxly.logger.recording.records import FORMAT, VERSION, Header
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.say.job.listwords import day, job_line
from coaxly.say.smallwords import whole_words
from coaxly.say.sweep.noverdict import STATES
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.dial.finddialscreen import FindDialScreen
from coaxly.screens.flows import work_bench
from coaxly.screens.jobs.jobsscreen import JobsScreen
from coaxly.screens.jobs.newjobscreen import NewJobScreen
from coaxly.screens.jobs.pages import RecordingsScreen
from coaxly.screens.small.askscreens import QuestionScreen
from coaxly.screens.small.cautionsscreen import CautionsScreen
from coaxly.screens.small.manualscreen import HelpScreen
from coaxly.screens.small.settingsscreen import SettingsScreen
from coaxly.screens.small.waitscreen import WaitScreen
from coaxly.screens.sweeping.livescreen import LiveScreen
from coaxly.screens.sweeping.replayscreen import ReplayScreen
from coaxly.screens.sweeping.setupscreen import SetUpScreen

VAN = {"block": {"serial": "K2-118"}, "housing": {"serial": "R2-07"}}
CAME = Answer(0.307, 0.01, 0.127, "outside")


def at_work(tmp_path, work, size=(80, 24), **kept):
    memory = Memory(tmp_path / "state" / "last.json")
    if kept:
        memory.keep(**kept)

    async def main():
        app = CoaxlyApp(lambda app: work_bench(app, memory, tmp_path / "shop"), "thou", Preferences())
        app.memory = memory
        async with app.run_test(size=size):
            await at_the_jobs(app)
            await work(app)
            await at_the_jobs(app)
            await press(app, "escape", "q")
            await until(lambda: app._exit)

    clockwork.run(main())


async def at_the_jobs(app):
    await until(lambda: isinstance(app.screen, JobsScreen) and words(app, "step"))
    await asyncio.sleep(0.5)


def opened(tmp_path, title, **details):
    return open_job(tmp_path / "shop", title, details, Opened(time=now(), title=title))


def listed(app):
    """The list, a line each, and which is picked."""
    top = app.screen.query_one("#jobs").region.y
    return [row.rstrip() for row in rows(app)[top : app.screen.query_one("#keys").region.y] if row.strip()]


def test_the_first_time_it_says_what_it_is_and_offers_the_rig(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shutil.copy(RECORDINGS / "launch-found.jsonl", tmp_path / "old.jsonl")

    async def work(app):
        assert "reads a dial indicator" in words(app, "step")
        assert app.screen.query_one("#large")._text == "FIND MY DIAL"
        await press(app, "c")
        await until(lambda: isinstance(app.screen, CautionsScreen) and "must not start" in words(app, "text"))
        await until(lambda: "Up, Down more" in words(app, "keys"))
        await press(app, "space")
        await at_the_jobs(app)
        await press(app, "e")
        await until(lambda: isinstance(app.screen, SettingsScreen) and "settings.toml" in words(app, "text"))
        await press(app, "q")
        await at_the_jobs(app)
        await press(app, "question_mark")
        await until(lambda: isinstance(app.screen, HelpScreen) and "pedal" in words(app, "text"))
        await press(app, "escape")
        await at_the_jobs(app)
        await press(app, "o")
        await until(lambda: isinstance(app.screen, RecordingsScreen))
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, ReplayScreen))
        await press(app, "q")
        await until(lambda: isinstance(app.screen, RecordingsScreen))
        await press(app, "q")
        await at_the_jobs(app)
        await press(app, "b")
        await until(lambda: isinstance(app.screen, LiveScreen))
        assert list(tmp_path.glob("coaxly-demo-*"))
        await press(app, "q")

    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    at_work(tmp_path, work)
    assert list(tmp_path.glob("coaxly-demo-*")) == [], "nothing was read in it"


def test_whoever_ends_the_program_in_the_built_in_engine_reads_where_the_recordings_are(
    tmp_path, monkeypatch
):
    async def main():
        memory = Memory(tmp_path / "state" / "last.json")
        app = CoaxlyApp(lambda app: work_bench(app, memory, tmp_path / "shop"), "thou", Preferences())
        async with app.run_test(size=(80, 24)):
            await at_the_jobs(app)
            await press(app, "b")
            await until(lambda: isinstance(app.screen, LiveScreen) and len(app.screen.run.view().stations))
            await press(app, "ctrl+c")
            await until(lambda: app._exit)
        return app.words

    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    words = clockwork.run(main())
    [folder] = tmp_path.glob("coaxly-demo-*")
    assert words == [f"Stopped early. Recordings: {folder}"]


def test_whoever_does_not_say_the_unit_of_typed_readings_looks_for_a_dial_again(tmp_path):
    async def work(app):
        await press(app, "f")
        await until(lambda: isinstance(app.screen, FindDialScreen))
        await press(app, "t")
        await until(lambda: isinstance(app.screen, QuestionScreen))
        await press(app, "escape")
        await until(lambda: isinstance(app.screen, FindDialScreen))
        await press(app, "escape")
        await at_the_jobs(app)
        assert not words(app, "words") and not app.memory.get("dial_unit")

    at_work(tmp_path, work)


def test_the_newest_job_is_on_top_with_its_step_large_and_in_full(tmp_path):
    old = opened(tmp_path, "grey pickup")
    job = opened(tmp_path, "blue van", **VAN)
    shutil.copy(RECORDINGS / "launch-found.jsonl", job.path / "found-1.jsonl")
    job.note(Sweep(file="found-1.jsonl", stage="found", answer=CAME))
    job.note(Chosen(which=1, dowels=((7 * 0.0254, 125.0),) * 2))
    old.note(Closed())
    job.edit(notes="newest")

    async def work(app):
        assert words(app, "whose").startswith("blue van   no. 2   block K2-118   housing R2-07   ")
        assert words(app, "whose").endswith("Enter goes on")
        assert app.screen.query_one("#large")._text == "7.0 TO 4:10"
        assert words(app, "step").startswith(
            "fit: 2 x 7.0 thou, high sides to 4:10 (125 deg), seen from behind"
        )
        first, second = listed(app)
        assert (
            first.split()[:2] == [">", "blue"] and "OUTSIDE 12.1 thou" in first and "fit the dowels" in first
        )
        assert second.split()[:2] == ["grey", "pickup"] and "not swept yet" in second
        assert "closed, nothing proved" in second
        await press(app, "m")
        await until(lambda: "OUTSIDE 0.0121 in" in listed(app)[0])
        await press(app, "down", "down", "down")
        await until(
            lambda: (
                words(app, "whose").startswith("grey pickup") and words(app, "step").startswith("closed, but")
            )
        )

    at_work(tmp_path, work)


def test_typing_searches_and_a_digit_is_a_number(tmp_path):
    for title in ("blue van", "grey pickup", "saw-mill engine"):
        opened(tmp_path, title, customer="Miller" if title.startswith("saw") else "")

    async def work(app):
        await press(app, "s", "m", "i", "l", "l", "e", "r")
        await until(lambda: len(listed(app)) == 1 and words(app, "whose").startswith("saw-mill"))
        assert "1 of 3 jobs" in words(app, "title")
        await press(app, "q", "q")
        await until(lambda: "No job holds" in words(app, "step"))
        await press(app, "escape")
        await until(lambda: len(listed(app)) == 3)
        await press(app, "2")
        await until(lambda: words(app, "whose").startswith("grey pickup"))

    at_work(tmp_path, work)


def test_a_job_whose_file_is_broken_says_so_and_hides_no_other(tmp_path):
    opened(tmp_path, "grey pickup")
    job = opened(tmp_path, "blue van")
    (job.path / "job.toml").write_text("title =")

    async def work(app):
        await until(lambda: any("blue van" in line and "!" in line for line in listed(app)))
        assert any("grey pickup" in line for line in listed(app))

    at_work(tmp_path, work)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 55)], ids=str)
def test_nothing_is_cut_at_any_size(tmp_path, size):
    job = opened(tmp_path, "a van with a long name", **VAN)
    shutil.copy(RECORDINGS / "launch-found.jsonl", job.path / "found-1.jsonl")
    job.note(Sweep(file="found-1.jsonl", stage="found", answer=CAME))
    job.note(Chosen(which=1, dowels=((7 * 0.0254, 125.0), (5 * 0.0254, 250.0))))

    async def work(app):
        (line,) = listed(app)
        assert "fit the dowels" in line and line.rstrip()[-3] == ":"
        seen = "\n".join(rows(app))
        for words_ in ("high side to 8:20", "from behind", "? keys", "a van with a long"):
            assert words_ in " ".join(seen.split()) or words_ in seen, seen

    at_work(tmp_path, work, size)


def test_a_new_job_that_is_left_leaves_the_pick_where_it_was(tmp_path):
    for title in ("blue van", "grey pickup", "saw-mill engine"):
        opened(tmp_path, title)

    async def work(app):
        await press(app, "down")
        await until(lambda: words(app, "whose").startswith("grey pickup"))
        await press(app, "n")
        await until(lambda: isinstance(app.screen, NewJobScreen))
        await press(app, "f10")
        await at_the_jobs(app)
        assert words(app, "whose").startswith("grey pickup")
        await press(app, "n")
        await until(lambda: isinstance(app.screen, NewJobScreen) and app.focused is not None)
        app.focused.value = "red tram"
        await press(app, "f2")
        await at_the_jobs(app)
        assert words(app, "whose").startswith("red tram")

    at_work(tmp_path, work)


TODAY = datetime(2026, 11, 25, 9, 14, tzinfo=UTC)
LONG_AGO = int(1e9 * (TODAY - timedelta(days=400)).timestamp())
OFF = LeftOff(Path("found-1.jsonl"), 348, 360)


def row(step="sweep found", feature="bore", answer=None, **more):
    return Row("f", "Grandfather's tractor", "7", step, feature, "", "", "", answer, "", LONG_AGO, **more)


@pytest.mark.parametrize("width", [56, 75, 76, 103])
@pytest.mark.parametrize("off", [None, OFF, replace(OFF, runs=True), LeftOff(OFF.path)])
def test_a_line_of_the_list_has_room_for_all_its_words(width, off):
    """Those of screens of 60 columns and more; where there is little room the day is not told, for the newest
    are on top."""
    answers = [
        {"state": state, "tir": 0.3588, "doubts": doubts}
        for state in STATES
        for doubts in ([], ["zero_lost"])
    ]
    for step, feature, answer in product(get_args(Next), ("bore", "face"), (None, *answers)):
        given = answer and {**answer, "feature": feature}
        for unproved in (False, True):
            line = job_line(row(step, feature, given, unproved=unproved), "thou", width, TODAY, off)
            assert len(line) <= width and line.startswith(("Grandfather's..  ", "Grandfather's tractor ")), (
                line
            )
            assert line.endswith(" 21 Oct 2025") is (width > 75), line


def test_what_is_too_long_for_a_list_ends_with_a_whole_word():
    assert whole_words("found-1.jsonl: not in the folder", 19) == "found-1.jsonl: not"
    assert whole_words("found-1.jsonl: not", 18) == "found-1.jsonl: not"
    assert whole_words("a Kupplungsgehäuse", 12) == "a Kupplungsg"  # else nothing would be told of it


def test_old_recordings_are_those_of_the_picked_job(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    job = opened(tmp_path, "blue van")
    lay_in(job, RECORDINGS / "launch-found.jsonl", "found-1.jsonl")

    async def work(app):
        await press(app, "o")
        await until(lambda: isinstance(app.screen, RecordingsScreen) and "of blue van" in words(app, "title"))
        assert any(f"{job.folder}/found-1.jsonl" in row for row in rows(app))
        await press(app, "q")

    at_work(tmp_path, work)


def test_days_are_said_as_people_say_them():
    today = datetime(2026, 11, 25, 9, 14, tzinfo=UTC)
    ago = [timedelta(hours=2), timedelta(days=1), timedelta(days=5), timedelta(days=13), timedelta(days=400)]
    assert [day((today - since).timestamp(), today) for since in ago] == [
        "07:14", "yesterday", "Fri", "12 Nov", "21 Oct 2025",
    ]  # fmt: skip


@pytest.fixture
def slow(tmp_path, monkeypatch):
    """A shop of three jobs whose second is read only once it may be."""
    for title in ("one", "two", "three"):
        open_job(tmp_path / "shop", title, {}, Opened(time=now(), title=title))
    (tmp_path / "shop" / index.NAME).unlink()
    may, row, read = threading.Event(), index._row, []

    def slowly(path, stamp):
        read.append(path)
        assert len(read) < 2 or may.wait(20.0)
        return row(path, stamp)

    monkeypatch.setattr(index, "_row", slowly)
    yield may, read
    may.set()


def test_many_jobs_that_are_read_first_say_how_far_it_is(tmp_path, slow):
    may, read = slow

    async def main():
        app = CoaxlyApp(
            lambda app: work_bench(app, Memory(tmp_path / "last.json"), tmp_path / "shop"),
            "thou",
            Preferences(),
        )
        async with app.run_test(size=(80, 24)):
            await until(lambda: isinstance(app.screen, WaitScreen) and "1 of 3" in words(app, "text"))
            may.set()
            await at_the_jobs(app)
            app.exit()

    clockwork.run(main())
    assert len(read) == 3


def test_who_does_not_want_to_wait_leaves_and_what_was_read_is_kept(tmp_path, slow):
    may, read = slow

    async def main():
        app = CoaxlyApp(
            lambda app: work_bench(app, Memory(tmp_path / "last.json"), tmp_path / "shop"),
            "thou",
            Preferences(),
        )
        async with app.run_test(size=(80, 24)):
            await until(lambda: isinstance(app.screen, WaitScreen) and len(read) == 2)
            await press(app, "escape")
            await until(lambda: "It stops" in words(app, "keys"))
            may.set()
            await until(lambda: app._exit)

    clockwork.run(main())
    with index.Index(tmp_path / "shop") as found:
        assert len(found.rows()) == 3
    assert len(read) == 3


def test_a_long_title_takes_no_more_than_its_line_on_a_narrow_screen(tmp_path):
    title = "the blue van of the dairy with the rebuilt engine and the long name of its block K2-118"
    opened(tmp_path, title, kit="5thou")

    async def work(app):
        assert words(app, "whose").startswith("the blue van of the da..block K2-118")
        await press(app, "j")
        await until(lambda: "what else?" in words(app, "question"))
        assert words(app, "question").startswith("the blue van of the da..block K2-118: what else?")
        await press(app, "escape")
        await at_the_jobs(app)
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, CautionsScreen))
        await press(app, "space")
        await until(lambda: isinstance(app.screen, SetUpScreen))
        assert words(app, "title").startswith("the blue van of the da..block K2-118: set up")
        await press(app, "q")

    at_work(tmp_path, work, (60, 20), profile="typed", dial_unit="in")


def test_a_sweep_that_another_program_makes_is_followed_to_its_end(tmp_path):
    opened(tmp_path, "grey bus")
    job = opened(tmp_path, "van")
    head = Header(format=FORMAT, version=VERSION, created="", job="van")
    made = ExitStack()

    async def work(app):
        assert "running" in words(app, "step")
        await press(app, "down", "up")
        assert app.screen.picked.title == "van"
        made.close()
        await until(lambda: "running" not in words(app, "step"))
        assert app.screen.picked.title == "van" and "broken off" in words(app, "step")

    with made:
        made.enter_context(RecordingWriter(job.path / "found-1.jsonl", head))
        at_work(tmp_path, work)
