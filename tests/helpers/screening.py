"""Driving screens in tests: wait for what is to be seen, read it as text."""

import asyncio

from clockwork import until
from textual import events

from coaxly.screens.small.askscreens import QuestionScreen
from coaxly.screens.sweeping.setupscreen import SetUpScreen
from coaxly.widgets.textlines import Lines

__all__ = ["leave", "press", "rows", "set_up", "until", "words"]


_SENT = {"enter": "\r", "escape": "\x1b", "space": " ", "question_mark": "?", "plus": "+", "minus": "-"}
"""What a terminal sends for a key that has a name, if that is one character."""


async def leave(app, pilot):
    """Press the key that quits, and again where a sweep asks whether it is meant; the pilot itself would
    wait for a screen that has gone."""
    app.simulate_key("q")
    await until(lambda: app._exit or isinstance(app.screen, QuestionScreen))
    if not app._exit:
        app.simulate_key("q")
    await until(lambda: app._exit)


def words(app, name):
    """The text of a widget; "" while it is not there yet."""
    found = app.screen.query(f"#{name}").results(Lines)
    return next((lines.text for lines in found), "")


def rows(app):
    """The whole screen as lines of text."""
    return ["".join(segment.text for segment in strip) for strip in app.screen._compositor.render_strips()]


async def press(app, *keys):
    """Press keys as fast as a hand can; whatever they start has begun before simulated time goes on."""
    for key in keys:
        app.post_message(events.Key(key, _SENT.get(key)))
        await asyncio.sleep(0.03)


async def set_up(app, key="space"):
    """The page before a sweep: this crank is turned clockwise, and the tip was pressed in before anybody looked."""
    await until(lambda: isinstance(app.screen, SetUpScreen))
    while isinstance(app.screen, SetUpScreen):
        page = app.screen
        await asyncio.sleep(1.0)
        if page._turn is None:
            await press(app, "d")
            await until(lambda: "CLOCKWISE" in words(app, "turn"))
        await press(app, key)
        await asyncio.sleep(0.2)
