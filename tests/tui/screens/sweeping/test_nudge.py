"""The screen of tapping: one large number, one arrow, a bar, STOP; nothing cut, and words without colour."""

import asyncio
from dataclasses import replace

import clockwork
import pytest
from making import RECORDINGS
from nudging import Played, reads
from screening import press, rows, until, words
from sheets import cut, shown
from shopping import lay_in

from coaxly.entry.preferences import Memory
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Opened, now
from coaxly.job.folder.snapshot import look
from coaxly.job.recorded.pipeline import replay
from coaxly.job.steps.nudge import Step, ToGo
from coaxly.logger.clock import SessionClock
from coaxly.logger.rig.rigport import RigPort
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.base import Bench
from coaxly.screens.jobs.moreflow import nudge
from coaxly.screens.small.cautionsscreen import CautionsScreen
from coaxly.screens.sweeping.nudgescreen import NudgeScreen
from coaxly.widgets.bigwords import BigWords
from coaxly.widgets.nudgeplot import _share

SIZES = [(80, 24), (120, 40)]


def large(app):
    return app.screen.query_one("#large", BigWords)._text


@pytest.mark.parametrize("size", SIZES)
def test_from_bolts_tight_to_stop_nothing_is_cut(size):
    run = Played()

    async def look(app):
        assert "BOLTS TIGHT" in words(app, "prompt") and large(app) == "TO 1:00" and cut(app) == []
        await press(app, "space")
        await until(lambda: large(app) == "7.9")
        assert "towards 1:00" in words(app, "prompt") and "its 7:00 side" in words(app, "prompt")
        assert cut(app) == [] and any("STOP" in row and "|" in row for row in rows(app))
        run.at = (0.0, 0.0)
        await until(lambda: large(app) == "STOP")
        assert "Hands off" in words(app, "prompt") and words(app, "unit") == ""
        await until(lambda: words(app, "came") == "")  # nothing about slack bolts any more
        await asyncio.sleep(0.4)
        await press(app, "space")
        await until(lambda: large(app) == "TO 7:00")
        run.nudge.step = Step.TIGHTEN
        await until(lambda: large(app) == "BOLTS")
        await until(lambda: not any("|" in row for row in rows(app)[-6:]))

    shown(NudgeScreen(run, run.play), look, size)


def test_the_bar_never_shows_what_is_within_tolerance_as_far_off():
    run = Played()
    run.press()
    run.at = (0.0, 0.0)
    near = replace(run.view(), most=1e-4, go=ToGo(1e-4, 30.0, True))
    assert _share(near) * 4.0 <= 1e-4 / near.tolerance * 1.001
    assert _share(replace(near, step=Step.TIGHTEN)) is None


def test_a_held_key_is_one_press_and_a_loose_housing_is_only_left_if_asked_twice():
    run = Played()

    async def look(app):
        await press(app, *["space"] * 5)
        assert run.pressed == 1 and run.nudge.step is Step.TAP
        await press(app, "q")
        await until(lambda: "Q again leaves it so" in words(app, "keys"))
        await press(app, "q")
        await until(lambda: app.got is False)
        assert run.finished

    shown(NudgeScreen(run, run.play), look)


def test_it_is_told_by_words_and_shapes_without_colour(monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("COAXLY_GLYPHS", "ascii")
    run = Played()

    async def look(app):
        await press(app, "space")
        await until(lambda: large(app) == "7.9")
        await asyncio.sleep(0.2)
        drawn = rows(app)
        assert all(row.isascii() for row in drawn) and any("STOP #" in row for row in drawn)

    shown(NudgeScreen(run, run.play), look)


def test_a_job_is_tapped_from_its_page_with_the_cautions_first_and_the_end_noted(tmp_path):
    job = open_job(tmp_path / "shop", "blue van", {}, Opened(time=now(), title="blue van"))
    lay_in(job, RECORDINGS / "launch-found.jsonl", "found-1.jsonl")
    bore = replay(job.path / "found-1.jsonl").result().eccentricity
    at, memory = [bore.vector], Memory(tmp_path / "last.json")

    async def flow(app):
        return [await nudge(Bench(app, memory, tmp_path / "shop"), job)]

    async def main():
        line = lambda t: f"{reads(at[0], bore.high_deg, oval=0.0) / 25.4:+09.5f}\r\n".encode()  # noqa: E731
        async with RigPort(line, SessionClock()) as port:
            memory.keep(port=port.url, dial_unit="in")
            app = CoaxlyApp(flow, "thou")
            async with app.run_test(size=(80, 24)):
                await until(
                    lambda: isinstance(app.screen, CautionsScreen) and "soft hammer" in words(app, "text")
                )
                await press(app, "space")
                await until(
                    lambda: isinstance(app.screen, NudgeScreen) and "connected" in words(app, "facts")
                )
                await asyncio.sleep(1.5)
                await press(app, "space")
                await until(lambda: "tap it towards" in words(app, "prompt"))
                at[0] = (0.0, 0.0)
                await until(lambda: large(app) == "STOP")
                await press(app, "q")
                await asyncio.sleep(0.5)
                await press(app, "q")
                await until(lambda: app.words)
        assert "left off before it was right" in app.words[0]

    clockwork.run(main())
    state = look(job).state
    assert state.nudged is not None and not state.nudged.held and state.next == "sweep left"
    assert [path.name for path in job.recordings()] == ["found-1.jsonl", "nudge-1.jsonl"]
