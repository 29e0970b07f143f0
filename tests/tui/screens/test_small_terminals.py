"""A phone, a serial console, a corner of a window: what is due and the keys are to be seen, and keys can be
touched."""

import asyncio

import clockwork
import pytest
from making import RECORDINGS
from screening import press, rows, until, words

from coaxly.entry.preferences import Memory, Preferences
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Opened, now
from coaxly.job.sweep.replayrun import ReplayRun
from coaxly.screens.app import CoaxlyApp, show_replayed
from coaxly.screens.dial.finddialscreen import FindDialScreen
from coaxly.screens.flows import work_bench
from coaxly.screens.jobs.jobsscreen import JobsScreen
from coaxly.screens.jobs.newjobscreen import NewJobScreen
from coaxly.screens.jobs.pages import RecordingsScreen
from coaxly.screens.small.cautionsscreen import CautionsScreen
from coaxly.screens.small.manualscreen import ManualScreen
from coaxly.screens.sweeping.replayscreen import ReplayScreen
from coaxly.widgets.textlines import KeyLine

SIZES = [(40, 12), (60, 20), (80, 24)]


def text(app):
    return " ".join(" ".join(rows(app)).split())


def footer_is_whole(app):
    """Every word of the line of keys is on the screen, in its last rows."""
    line = app.screen.query_one("#keys", KeyLine)
    last = " ".join(" ".join(rows(app)[line.region.y : line.region.bottom]).split())
    assert line.region.bottom <= app.size.height
    assert [word for word in line.text.split() if word not in last] == []


def at_bench(tmp_path, work, size, jobs=3):
    for k in range(jobs):
        title = f"launch {k}"
        open_job(tmp_path / "shop", title, {"kit": "5thou"}, Opened(time=now(), title=title))

    async def main():
        app = CoaxlyApp(
            lambda app: work_bench(app, Memory(tmp_path / "last.json"), tmp_path / "shop"),
            "thou",
            Preferences(),
        )
        async with app.run_test(size=size) as pilot:
            await until(lambda: isinstance(app.screen, JobsScreen) and words(app, "step"))
            await asyncio.sleep(0.3)
            await work(app, pilot)
            app.exit()

    clockwork.run(main())


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    ("key", "kind"),
    [
        ("", JobsScreen),
        ("c", CautionsScreen),
        ("o", RecordingsScreen),
        ("n", NewJobScreen),
        ("f", FindDialScreen),
    ],
)
def test_no_footer_is_cut(tmp_path, monkeypatch, size, key, kind):
    monkeypatch.setattr("coaxly.screens.dial.dialflow._ports_here", list)

    async def work(app, pilot):
        await press(app, *([key] if key else []))
        await until(lambda: isinstance(app.screen, kind) and any(app.screen.query("#keys")))
        await asyncio.sleep(0.3)
        footer_is_whole(app)

    at_bench(tmp_path, work, size)


@pytest.mark.parametrize("size", SIZES)
def test_the_step_that_is_due_and_the_jobs_are_on_the_start_page(tmp_path, size):
    async def work(app, pilot):
        said = text(app)
        assert "sweep the bore as found" in said and "> launch 2" in said and "N new" in said
        assert "Q quit" in said

    at_bench(tmp_path, work, size)


def test_an_empty_shop_offers_the_four_ways_in(tmp_path):
    async def work(app, pilot):
        said = text(app)
        for way in ("F a dial with a cable", "N a dial with a hand", "B no dial", "O old recordings"):
            assert way in said

    for size in SIZES:
        at_bench(tmp_path / f"{size[0]}", work, size, jobs=0)


@pytest.mark.parametrize("size", [(40, 12), (50, 30), (60, 20)])
def test_a_sweep_says_its_reading_and_what_to_do_at_any_size(size):
    async def main():
        app = CoaxlyApp(
            lambda app: show_replayed(app, ReplayRun(RECORDINGS / "launch-found.jsonl", 20.0)), "thou"
        )
        async with app.run_test(size=size):
            await until(lambda: isinstance(app.screen, ReplayScreen) and "thou" in text(app))
            await until(lambda: app.screen.show.view().finished and "sealed" in words(app, "status"))
            await asyncio.sleep(0.3)
            assert "OUTSIDE" in text(app) and "Q quit" in text(app)
            footer_is_whole(app)
            app.exit()

    clockwork.run(main())


def test_a_key_of_the_footer_can_be_touched(tmp_path):
    async def work(app, pilot):
        line = app.screen.query_one("#keys", KeyLine)
        row = next(k for k, each in enumerate(rows(app)) if "C cautions" in each)
        await pilot.click(offset=(rows(app)[row].index("cautions") + 2, row))
        await until(lambda: isinstance(app.screen, CautionsScreen))
        assert line is not app.screen.query_one("#keys", KeyLine)

    at_bench(tmp_path, work, (80, 24))


def test_two_keys_before_the_same_words_are_each_their_own():
    async def look(app):
        row = next(k for k, each in enumerate(rows(app)) if "Right Left other page" in each)
        at = rows(app)[row].index("Right Left")
        await app.pilot.click(offset=(at + 1, row))
        await until(lambda: app.screen.topic == "first-sweep")
        await app.pilot.click(offset=(at + 7, row))
        await until(lambda: app.screen.topic == "")

    page = ManualScreen()

    async def main():
        from sheets import Alone, at_sheet

        app = Alone(page)
        async with app.run_test(size=(80, 24)) as pilot:
            app.pilot = pilot
            await at_sheet(app, ManualScreen)
            await pilot.pause()
            await look(app)

    clockwork.run(main())
