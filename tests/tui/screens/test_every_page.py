"""Every page at every size: nothing is cut, runs off or lies over another thing; "?" and Esc are answered."""

import asyncio
import re

import clockwork
import pytest
from pages import PAGES, SIZES, amiss, kinds
from screening import press, rows, until, words
from sheets import Alone, at_sheet

from coaxly.screens.small.manualscreen import HelpScreen, ManualScreen
from coaxly.screens.sweeping.sweepscreen import SweepScreen

FIELDS = ("new job", "ask")
"""Where a question mark is typed like any other letter, and F1 opens the manual."""


def at_page(name, folder, work, size=SIZES[0]):
    async def main():
        page = PAGES[name](folder)
        app = Alone(page)
        async with app.run_test(size=size) as pilot:
            await at_sheet(app, type(page))
            await asyncio.sleep(0.5)
            await work(app, page, pilot)

    clockwork.run(main())


def test_no_kind_of_screen_is_forgotten(tmp_path):
    made = set()

    async def make():
        for name, page in PAGES.items():
            folder = tmp_path / name
            folder.mkdir()
            one = page(folder)
            made.add(type(one))
            if isinstance(one, SweepScreen):
                one.show.stop()

    clockwork.run(make())
    assert kinds() == made


@pytest.mark.parametrize("name", PAGES)
def test_nothing_is_cut_at_any_size_and_the_question_mark_and_escape_are_answered(tmp_path, name):
    async def work(app, page, pilot):
        for size in (*SIZES, *reversed(SIZES[:-1])):  # made larger, and smaller again
            await pilot.resize_terminal(*size)
            await asyncio.sleep(0.6)  # a few redraws: all is laid out
            assert amiss(app) == [], size
        await asked_and_left(app, page, name)

    at_page(name, tmp_path, work)


async def asked_and_left(app, page, name):
    """The question mark opens what the page means, Escape closes that, and then does something on the page."""
    await press(app, "f1" if name in FIELDS else "question_mark")
    if not isinstance(page, ManualScreen):  # which it closes
        await until(lambda: isinstance(app.screen, HelpScreen | ManualScreen) and app.screen is not page)
        await asyncio.sleep(0.4)
        assert amiss(app) == []
        await press(app, "escape")
        await until(lambda: app.screen is page or isinstance(page, HelpScreen))
    seen = rows(app)
    await press(app, "escape")
    await until(lambda: app.screen is not page or app._exit or rows(app) != seen)


@pytest.mark.parametrize("name", [name for name in PAGES if name.endswith("sweep") or name == "replay"])
def test_no_word_of_the_keys_is_cut_and_no_entry_of_their_line_is_broken(tmp_path, name):
    async def work(app, page, pilot):
        await pilot.resize_terminal(76, 24)  # where the line of the replay does not fit
        await asyncio.sleep(0.6)
        for entry in re.split(" {2,}", words(app, "keys")):
            assert any(entry in row for row in rows(app)), entry
        await pilot.resize_terminal(80, 24)
        await press(app, "question_mark")
        await until(lambda: isinstance(app.screen, HelpScreen) and words(app, "text"))
        await asyncio.sleep(0.4)
        assert set(words(app, "text").split()) <= set(" ".join(rows(app)).split())

    at_page(name, tmp_path, work)


def test_a_key_that_is_touched_is_no_letter_in_the_field(tmp_path):
    async def work(app, page, pilot):
        page.query_one("#typed").value = "14"
        row = next(k for k, each in enumerate(rows(app)) if "U undo" in each)
        before = len(page.run.view().stations)
        await pilot.click(offset=(rows(app)[row].index("U undo") + 2, row))
        await until(lambda: len(page.run.view().stations) == before - 1)
        assert page.query_one("#typed").value == "14"

    at_page("typed sweep", tmp_path, work, (80, 24))
