"""Boxes, lists and the way out of them: nothing that was typed or found is dropped in silence."""

import asyncio

import clockwork
from screening import press, rows, until, words

from coaxly.entry.preferences import Memory, Preferences
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Opened, now
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.flows import work_bench
from coaxly.screens.jobs.jobsscreen import JobsScreen
from coaxly.screens.small.askscreens import AskScreen, QuestionScreen
from coaxly.screens.small.cautionsscreen import CautionsScreen


def at_bench(tmp_path, work, jobs=0):
    for k in range(jobs):
        open_job(tmp_path / "shop", f"launch {k}", {"kit": "5thou"}, Opened(time=now(), title=f"launch {k}"))

    async def main():
        app = CoaxlyApp(
            lambda app: work_bench(app, Memory(tmp_path / "last.json"), tmp_path / "shop"),
            "thou",
            Preferences(),
        )
        async with app.run_test(size=(80, 24)) as pilot:
            await at_jobs(app)
            await work(app, pilot)
            app.exit()

    clockwork.run(main())


async def at_jobs(app):
    await until(lambda: isinstance(app.screen, JobsScreen) and words(app, "step"))
    await asyncio.sleep(0.5)


def test_escape_asks_before_it_drops_what_was_typed(tmp_path):
    async def work(app, pilot):
        await press(app, "j")
        await until(lambda: isinstance(app.screen, QuestionScreen))
        await press(app, "n")
        await until(lambda: isinstance(app.screen, AskScreen) and app.focused is not None)
        assert words(app, "said") == "Enter done   Esc back"
        await press(app, "x", "escape")
        await until(lambda: "Esc again" in words(app, "said"))
        await press(app, "escape")
        await at_jobs(app)
        await press(app, "j")
        await until(lambda: isinstance(app.screen, QuestionScreen))
        await press(app, "n")
        await until(lambda: isinstance(app.screen, AskScreen) and app.focused is not None)
        await press(app, "escape")  # nothing was typed
        await at_jobs(app)

    at_bench(tmp_path, work, jobs=1)


def test_a_line_of_a_list_can_be_touched_and_once_more_taken(tmp_path):
    async def work(app, pilot):
        picked = app.screen.picked.title
        row = next(k for k, each in enumerate(rows(app)) if each.startswith("   launch 0"))
        await pilot.click(offset=(5, row))
        await until(lambda: app.screen.picked.title == "launch 0" != picked)
        await asyncio.sleep(0.5)
        row = next(k for k, each in enumerate(rows(app)) if "> launch 0" in each)
        await pilot.click(offset=(5, row))
        await until(lambda: isinstance(app.screen, CautionsScreen))

    at_bench(tmp_path, work, jobs=3)
