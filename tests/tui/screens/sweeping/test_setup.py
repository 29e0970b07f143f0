"""Before a sweep: where the tip goes, how far it is pressed in, which way the crank is turned."""

import asyncio
from dataclasses import replace

import pytest
from ptyline import line
from screening import press, rows, until, words
from sheets import cut, shown

from coaxly.logger.angle.source import Source
from coaxly.logger.profile import built_in, load
from coaxly.logger.watch.preload import Preload
from coaxly.say.sweep.mounting import bar
from coaxly.screens.sweeping.setupscreen import SettingUp, SetUp, SetUpScreen

HAND = Source("", load("typed"))


def page(feature="bore", dial=HAND, **more):
    return SetUpScreen(SettingUp("blue van", feature, dial, **more))


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40), (200, 55)])
@pytest.mark.parametrize("feature", ["bore", "face"])
@pytest.mark.parametrize("turn", [None, "cw", "ccw"])
def test_all_of_it_is_on_the_page(feature, turn, size):
    async def look(app):
        await asyncio.sleep(0.5)
        assert cut(app) == []
        said = " ".join(" ".join(rows(app)).split())
        assert f"tip on the {feature.upper()}" in said and "BEHIND" in said and "PRELOAD" in said
        assert "Space begin" in said and "Q jobs" in said

    shown(page(feature, turn=turn, before="face"), look, size)


def test_after_the_face_the_tip_is_to_be_moved_to_the_bore_and_after_the_bore_it_is_not():
    async def moved(app):
        assert "move it to the BORE" in words(app, "text")

    async def stays(app):
        assert "move it" not in words(app, "text")

    shown(page(before="face"), moved)
    shown(page(before="bore"), stays)


def answer(press_them, **more):
    """What the page is dismissed with; None where it stays."""
    asked = page(**more)

    async def look(app):
        await asyncio.sleep(1.0)
        await press_them(app)
        await until(lambda: app.got is not None)

    got = []

    async def kept(app):
        await look(app)
        got.append(app.got)

    shown(asked, kept)
    return got[0]


def test_nothing_begins_before_the_way_is_known_and_it_is_asked_in_plain_words():
    async def keys(app):
        await press(app, "space")
        await until(lambda: "Which way" in words(app, "said"))
        assert isinstance(app.screen, SetUpScreen)
        await press(app, "a")
        await until(lambda: "ANTICLOCKWISE" in words(app, "turn"))
        await asyncio.sleep(0.5)
        await press(app, "space")

    assert answer(keys) == SetUp("ccw")


def test_where_angles_come_by_themselves_no_way_is_asked():
    async def keys(app):
        await press(app, "space")

    assert answer(keys, asks=False) == SetUp(None)


def test_two_numbers_take_the_place_of_a_sweep():
    async def keys(app):
        await press(app, "2")

    assert answer(keys) == SetUp(None, numbers=True)


def test_a_dial_is_shown_live_and_begins_at_once_only_with_its_tip_pressed_in():
    with line() as (ours, theirs):
        import os

        def says(value):
            for _ in range(4):
                os.write(ours, f"{value:+.3f}\r\n".encode())

        asked = page(dial=Source(theirs, replace(built_in("stream-decimal"), unit="mm")), turn="cw")

        async def look(app):
            await asyncio.sleep(1.0)
            says(1.0)
            await until(lambda: "let the tip off once" in words(app, "bar"))
            await press(app, "space")
            await until(lambda: "again" in words(app, "said"))
            assert isinstance(app.screen, SetUpScreen)
            says(1.7)
            await until(lambda: "27.6 thou: good" in words(app, "bar"))
            await asyncio.sleep(0.5)
            await press(app, "space")
            await until(lambda: app.got == SetUp("cw"))

        shown(asked, look)


def test_the_bar_marks_its_safe_part_and_fills():
    preload = Preload(Source("x", replace(built_in("stream-decimal"), unit="mm")))
    preload.feed(b"+1.000\r\n", 0.0)
    preload.feed(b"+2.000\r\n", 0.1)
    head, drawn = bar(preload, "mm").splitlines()
    assert "1.000 mm: good" in head and drawn.count("#") == 12 and "[#########======]" in drawn
