"""Readings typed on the screen: a field in place of a dial, keys while it is empty, a doubt about each slip."""

import asyncio
import errno
import math
import os

import clockwork
import pytest
from clockwork import until
from screening import press, rows, set_up, words
from textual import events
from textual.geometry import Size

from coaxly.entry.preferences import Memory, Preferences
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Opened, now
from coaxly.job.folder.snapshot import look
from coaxly.logger.errors import WriteError
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.dial.finddialscreen import FindDialScreen
from coaxly.screens.flows import work_bench
from coaxly.screens.jobs.jobsscreen import JobsScreen
from coaxly.screens.jobs.planscreen import PlanScreen
from coaxly.screens.small.askscreens import AskScreen, QuestionScreen
from coaxly.screens.small.cautionsscreen import CautionsScreen
from coaxly.screens.sweeping.donescreen import DoneScreen
from coaxly.screens.sweeping.setupscreen import SetUpScreen
from coaxly.screens.sweeping.typedscreen import TypedScreen


def reading(deg, x=-5.0, y=5.0):
    """What a dial shows in inches at a place of a bore off by (x, y) thou."""
    th = math.radians(deg)
    return f"{(-x * math.sin(th) - y * math.cos(th)) / 1000 + 0.02:.4f}"


def at_work(tmp_path, work, *, size=(80, 24), known=True, **details):
    folder = tmp_path / "shop"
    job = open_job(folder, "van", {"kit": "5thou,7thou", **details}, Opened(time=now(), title="van"))
    memory = Memory(tmp_path / "last.json")
    if known:
        memory.keep(profile="typed", dial_unit="in")

    async def main():
        app = CoaxlyApp(lambda app: work_bench(app, memory, folder), "thou", Preferences())
        async with app.run_test(size=size):
            await until(lambda: isinstance(app.screen, JobsScreen) and words(app, "step"))
            await asyncio.sleep(0.5)
            await press(app, "enter")
            await until(lambda: isinstance(app.screen, CautionsScreen) and words(app, "keys"))
            await asyncio.sleep(0.3)
            assert size < (80, 24) or "more" not in words(app, "keys"), "there is no more"
            await press(app, "space")
            await work(app)
            app.exit()

    clockwork.run(main())
    return job


async def at_the_field(app):
    await until(lambda: isinstance(app.screen, TypedScreen | SetUpScreen))
    if isinstance(app.screen, SetUpScreen):
        await set_up(app)
    await until(lambda: isinstance(app.screen, TypedScreen) and app.focused is not None)


async def type_(app, text):
    """A reading, key by key, and Enter."""
    names = {".": "full_stop", " ": "space", "-": "minus"}
    await asyncio.sleep(0.35)
    for char in text:
        app.post_message(events.Key(names.get(char, char), char))
    await press(app, "enter")


async def taken(app, text):
    run = app.screen.run
    read = len(run.view().stations)
    await type_(app, text)
    await until(lambda: len(run.view().stations) == read + 1)


def test_a_sweep_is_typed_from_first_to_closing_and_finished_by_enter(tmp_path):
    async def work(app):
        await at_the_field(app)
        assert "seen from behind" in words(app, "title")
        assert "type the reading" in words(app, "prompt") and "waiting" not in words(app, "status")
        await press(app, "enter")
        await until(lambda: "nothing typed" in words(app, "message"))
        for deg in range(0, 360, 45):
            await taken(app, reading(deg))
        await taken(app, reading(0))
        await until(lambda: "Space finishes" in words(app, "prompt"))
        await press(app, "enter")  # at once: meant for the last reading
        await until(lambda: "press again to finish" in words(app, "message"))
        await asyncio.sleep(2.0)
        assert not app.screen.run.finished.is_set()
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, DoneScreen))
        await asyncio.sleep(1.0)
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, PlanScreen))

    job = at_work(tmp_path, work)
    assert look(job).state.next == "choose"
    assert look(job).state.found.answer.tir == pytest.approx(2 * math.hypot(5, 5) * THOU, rel=0.01)


def test_letters_are_keys_while_the_field_is_empty_and_part_of_a_reading_after_that(tmp_path):
    async def work(app):
        await at_the_field(app)
        run = app.screen.run
        await taken(app, "14.9 thou")
        assert run.view().reading == pytest.approx(14.9 * THOU)
        await press(app, "u")
        await until(lambda: len(run.view().stations) == 0)
        await press(app, "f")
        await until(lambda: "are due" in words(app, "message"))
        await asyncio.sleep(7.0)  # to be asked twice it would have to come sooner
        assert len(run.view().stations) == 0 and app.screen.query_one("#typed").value == ""
        await press(app, "n")
        await until(lambda: isinstance(app.screen, AskScreen) and app.focused is not None)
        app.focused.value = "cold"
        await press(app, "enter")
        await at_the_field(app)
        for deg in range(0, 180, 45):
            await taken(app, reading(deg))
        await taken(app, "0.23")
        await until(lambda: "point slipped" in words(app, "message"))
        await press(app, "u")
        await type_(app, "0.0x")
        await until(lambda: "was not taken" in words(app, "message"))
        assert len(run.view().stations) == 4
        assert any("reading in inches, or such as" in row for row in rows(app))

    job = at_work(tmp_path, work)
    assert '"cold"' in (job.path / "found-1.jsonl").read_text()


def test_capitals_are_the_same_keys_and_text_once_something_is_typed(tmp_path):
    async def work(app):
        await at_the_field(app)
        run, field = app.screen.run, app.screen.query_one("#typed")
        await taken(app, "14.9 thou")
        assert run.view().reading == pytest.approx(14.9 * THOU)
        await press(app, "M")
        await until(lambda: app.unit == "in")
        await press(app, "U")
        await until(lambda: len(run.view().stations) == 0)
        await press(app, "F")
        await until(lambda: "are due" in words(app, "message"))
        await press(app, "1", "U", "M")
        await until(lambda: field.value == "1UM")
        assert app.unit == "in"
        await press(app, "backspace", "backspace", "backspace")
        await until(lambda: field.value == "")
        await press(app, "Q")
        await until(lambda: not isinstance(app.screen, TypedScreen))

    at_work(tmp_path, work)


def test_what_a_number_is_taken_in_stands_beside_the_unit_that_is_shown(tmp_path):
    """And a number so much larger or smaller is no key of a dial that was pressed."""

    async def work(app):
        await at_the_field(app)
        field = app.screen.query_one("#typed")
        assert field.placeholder == "reading in inches, or such as 14.9thou"
        await taken(app, "0.5")
        await press(app, "m", "m")
        await until(lambda: app.unit == "mm")
        assert words(app, "status").startswith("typed in inches") and "in inches" in field.placeholder
        for reading in ("12.7", "0.5", "12.7"):
            await taken(app, reading)
            await asyncio.sleep(0.5)
            assert words(app, "prompt").startswith("Turn to")

    at_work(tmp_path, work)


def test_a_typed_sweep_that_was_left_goes_on_and_the_question_is_not_lost_after_an_undo(tmp_path):
    async def work(app):
        await at_the_field(app)
        await taken(app, reading(0))
        await press(app, "u", "q")
        await until(lambda: isinstance(app.screen, QuestionScreen | JobsScreen))
        if isinstance(app.screen, QuestionScreen):
            await press(app, "s")
        await until(lambda: isinstance(app.screen, JobsScreen))
        await asyncio.sleep(0.5)
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, QuestionScreen) and "broken off" in words(app, "question"))
        await press(app, "enter")
        await at_the_field(app)
        assert "resumed" in words(app, "title")
        await taken(app, reading(0))

    assert len(at_work(tmp_path, work).recordings()) == 1


def test_a_window_made_small_and_large_again_leaves_the_keys_with_the_field(tmp_path):
    async def work(app):
        await at_the_field(app)
        await taken(app, reading(0))
        app.post_message(events.Resize(Size(40, 15), Size(40, 15)))
        await until(lambda: app.size.width == 40 and app.screen.has_class("small"))
        await asyncio.sleep(0.5)
        await taken(app, reading(45))
        assert app.screen.query_one("#typed").region.height > 0
        app.post_message(events.Resize(Size(80, 24), Size(80, 24)))
        await until(lambda: not app.screen.has_class("small"))
        await asyncio.sleep(0.5)
        await taken(app, reading(90))

    at_work(tmp_path, work)


def test_a_disk_that_is_full_when_a_sweep_goes_on_is_said_at_the_jobs(tmp_path, monkeypatch):
    def full(writer, _):
        raise WriteError(writer.path, OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)))

    async def work(app):
        await at_the_field(app)
        await taken(app, reading(0))
        await press(app, "q")
        await until(lambda: isinstance(app.screen, QuestionScreen))
        await press(app, "s")
        await until(lambda: isinstance(app.screen, JobsScreen))
        await asyncio.sleep(0.5)
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, QuestionScreen) and "broken off" in words(app, "question"))
        monkeypatch.setattr("coaxly.logger.recording.writer.RecordingWriter._flush", full)
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, JobsScreen))
        await until(lambda: "No space left" in words(app, "words"))
        assert "make room on that disk, then go on" in " ".join(words(app, "words").split())

    assert len(at_work(tmp_path, work).recordings()) == 1


def test_without_a_dial_readings_can_be_typed_after_their_unit_was_said(tmp_path, monkeypatch):
    monkeypatch.setattr("coaxly.screens.dial.dialflow._ports_here", list)

    async def work(app):
        await until(lambda: isinstance(app.screen, FindDialScreen))
        await press(app, "t")
        await until(lambda: isinstance(app.screen, QuestionScreen))
        await press(app, "t")
        await at_the_field(app)
        await taken(app, "14.9")
        assert app.screen.run.view().reading == pytest.approx(14.9 * THOU)

    at_work(tmp_path, work, known=False)


def test_three_presses_of_space_at_the_end_finish_and_skip_no_page_however_late_they_are_looked_at(tmp_path):
    async def work(app):
        await at_the_field(app)
        for deg in (*range(0, 360, 45), 0):
            await taken(app, reading(deg))
        await until(lambda: "Space finishes" in words(app, "prompt"))
        for _ in range(3):
            await asyncio.sleep(0.8)
            await press(app, "space")
        await until(lambda: isinstance(app.screen, DoneScreen))
        await asyncio.sleep(2.0)
        late = events.Key("space", " ")
        late.time = app.screen._seen_at + 0.1  # the processor was busy ever since
        app.post_message(late)
        await asyncio.sleep(1.0)
        assert isinstance(app.screen, DoneScreen)
        await press(app, "space")
        await until(lambda: isinstance(app.screen, PlanScreen))

    at_work(tmp_path, work)


def test_a_sweep_that_was_left_before_anything_was_read_leaves_nothing(tmp_path):
    async def work(app):
        await at_the_field(app)
        await press(app, "q")
        await until(lambda: isinstance(app.screen, JobsScreen) and "broken off" not in words(app, "step"))
        assert "Kept" not in words(app, "words")

    assert at_work(tmp_path, work).recordings() == []
