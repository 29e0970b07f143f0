"""What is handed over: written, named large, opened only where there is a desktop."""

import asyncio
from pathlib import Path

import clockwork
import pytest
import shopmaking
from screening import press, rows, until, words
from sheets import at_sheet, cut, shown

from coaxly.entry.preferences import Memory
from coaxly.job.folder.journal import Reported
from coaxly.job.folder.shop import Job
from coaxly.job.folder.snapshot import look
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.base import Bench
from coaxly.screens.jobs import reportscreen
from coaxly.screens.jobs.jobflow import hand_over
from coaxly.screens.jobs.reportscreen import ReportScreen
from coaxly.widgets.bigwords import BigWords

PATH = Path("/shop/2026-11-25-blue-van/report-2.html")


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 55)])
@pytest.mark.parametrize("desktop", [True, False])
def test_where_the_page_is_is_said_and_nothing_is_cut(monkeypatch, size, desktop):
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.setattr(reportscreen.sys, "platform", "linux")
    if desktop:
        monkeypatch.setenv("DISPLAY", ":0")

    async def see(app):
        assert cut(app) == []
        assert app.screen.query_one("#large", BigWords)._text == "report-2.html"
        assert any(str(PATH) in row for row in rows(app))
        assert ("O open it" in words(app, "keys")) == desktop and "P as PDF" in words(app, "keys")

    shown(ReportScreen("blue van", PATH), see, size)


@pytest.mark.parametrize("took", [True, False])
def test_it_is_opened_and_whether_it_was_is_said(monkeypatch, took):
    monkeypatch.setenv("DISPLAY", ":0")
    opened = []
    monkeypatch.setattr(reportscreen.webbrowser, "open", lambda uri: opened.append(uri) or took)

    async def see(app):
        await press(app, "o")
        await until(lambda: words(app, "keys").startswith("It opens" if took else "! no browser"))
        assert opened == [PATH.as_uri()]
        await asyncio.sleep(1.0)
        await press(app, "space")
        await until(lambda: app.got == "on")

    shown(ReportScreen("blue van", PATH), see)


def test_a_pdf_is_a_key_away(tmp_path):
    job = Job(shopmaking.job(tmp_path, "van", found=(6.0, -3.0), kit="5thou"))

    async def flow(app):
        await hand_over(Bench(app, Memory(tmp_path / "last.json"), tmp_path), job)
        return ()

    async def main():
        app = CoaxlyApp(flow, "thou")
        async with app.run_test(size=(80, 24)):
            await at_sheet(app, ReportScreen)
            await press(app, "p")
            await until(lambda: "report.pdf" in words(app, "path"))
            assert "as PDF" not in words(app, "keys")
            await press(app, "q")
            await until(lambda: app._exit)

    clockwork.run(main())
    assert (job.path / "report.pdf").read_bytes().startswith(b"%PDF")
    assert [each.file for each in look(job).records if isinstance(each, Reported)] == [
        "report.html",
        "report.pdf",
    ]
