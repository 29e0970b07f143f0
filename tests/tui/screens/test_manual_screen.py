"""The manual is two presses of one key away, wherever somebody stands."""

import pytest
from making import RECORDINGS
from screening import press, rows, until, words
from sheets import shown
from textual.widgets import Markdown

from coaxly.job.recorded.pipeline import replay
from coaxly.say.manual import topics
from coaxly.screens.small.cautionsscreen import CautionsScreen
from coaxly.screens.small.manualscreen import ManualScreen
from coaxly.screens.sweeping.donescreen import DoneScreen, Swept

SIZES = [(40, 12), (60, 20), (80, 24), (120, 40)]


async def opened(app, title):
    await until(lambda: isinstance(app.screen, ManualScreen) and title in words(app, "title"))


def test_keys_come_first_and_the_same_key_again_opens_the_page_about_it():
    result = replay(RECORDINGS / "launch-found.jsonl").result()

    async def look(app):
        await press(app, "question_mark")
        await until(lambda: "the manual" in words(app, "keys"))
        await press(app, "question_mark")
        await opened(app, "What the numbers mean")
        await press(app, "q")
        await until(lambda: isinstance(app.screen, DoneScreen))

    shown(DoneScreen(Swept("van", "found", result, then="choose dowels")), look)


def test_a_page_without_a_list_of_keys_opens_it_at_once():
    async def look(app):
        await press(app, "question_mark")
        await opened(app, "The screen")
        await press(app, "escape")
        await until(lambda: isinstance(app.screen, CautionsScreen))

    shown(CautionsScreen(), look)


async def read(app):
    """Wait for a page; nothing of its footer is cut. Which it is."""
    await until(lambda: len(app.screen.query_one(Markdown).children) > 0)
    assert "Q back" in " ".join(" ".join(rows(app)[-3:]).split())
    return app.screen.topic


def test_all_pages_are_read_by_two_keys():
    async def look(app):
        seen = []
        for _ in range(len(topics()) + 1):
            seen.append(before := await read(app))
            await press(app, "right")
            await until(lambda before=before: app.screen.topic != before)
        assert seen == ["", *topics()] and app.screen.topic == ""
        await press(app, "left")
        await opened(app, list(topics().values())[-1])
        await press(app, "home")
        await opened(app, "all pages")

    shown(ManualScreen(), look, SIZES[0])


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("topic", ["", "glossary"])
def test_nothing_of_the_footer_is_cut(topic, size):
    shown(ManualScreen(topic), read, size)


def test_a_link_leads_to_its_page_and_no_further():
    async def look(app):
        page = app.screen.query_one(Markdown)
        app.screen.post_message(Markdown.LinkClicked(page, "face.md"))
        await opened(app, topics()["face"])
        app.screen.post_message(Markdown.LinkClicked(page, "https://example.org/x.md"))
        await press(app, "down", "space", "pageup")
        await until(lambda: app.screen.topic == "face")

    shown(ManualScreen("dowels"), look)
