"""What is handed over: written, named large, opened only where there is a desktop."""

import asyncio
from pathlib import Path

import pytest
from screening import press, rows, until, words
from sheets import cut, shown

from coaxly.screens.jobs.reportscreen import ReportScreen
from coaxly.screens.small import browser
from coaxly.widgets.bigwords import BigWords

PATH = Path("/shop/2026-11-25-blue-van/report-2.html")


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 55)])
@pytest.mark.parametrize("desktop", [True, False])
def test_where_the_page_is_is_said_and_nothing_is_cut(monkeypatch, size, desktop):
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.setattr(browser.sys, "platform", "linux")
    if desktop:
        monkeypatch.setenv("DISPLAY", ":0")

    async def look(app):
        assert cut(app) == []
        assert app.screen.query_one("#large", BigWords)._text == "report-2.html"
        assert any(str(PATH) in row for row in rows(app))
        assert ("O open it" in words(app, "keys")) == desktop

    shown(ReportScreen("blue van", PATH), look, size)


@pytest.mark.parametrize("took", [True, False])
def test_it_is_opened_and_whether_it_was_is_said(monkeypatch, took):
    monkeypatch.setenv("DISPLAY", ":0")
    opened = []
    monkeypatch.setattr(browser.webbrowser, "open", lambda uri: opened.append(uri) or took)

    async def look(app):
        await press(app, "o")
        await until(lambda: words(app, "keys").startswith("It opens" if took else "! no browser"))
        assert opened == [PATH.as_uri()]
        await asyncio.sleep(1.0)
        await press(app, "space")
        await until(lambda: app.got == "on")

    shown(ReportScreen("blue van", PATH), look)
