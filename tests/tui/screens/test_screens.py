"""The screens, driven as a person would drive them."""

import json
import math
import os
import time
from itertools import pairwise

import clockwork
import pytest
from making import RECORDINGS, header_line
from screening import leave, press, rows, until, words

from coaxly.job.demo.rehearsal import Rehearsal
from coaxly.job.sweep.replayrun import ReplayRun
from coaxly.screens.app import CoaxlyApp, show_replayed
from coaxly.screens.jobs.proofscreen import ProofScreen
from coaxly.screens.rehearsing import rehearse
from coaxly.screens.sweeping.sweepscreen import SweepScreen
from coaxly.widgets.bigwords import BigReading
from coaxly.widgets.outlookbar import OutlookBar
from coaxly.widgets.roundplot import RoundPlot

FAST = 20.0


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60)])
def test_the_rehearsal_goes_from_found_to_verdict(tmp_path, size):
    app = CoaxlyApp(lambda app: rehearse(app, Rehearsal(1, FAST, tmp_path)), "thou")

    async def main():
        async with app.run_test(size=size) as pilot:
            await until(lambda: isinstance(app.screen, SweepScreen))
            screen = app.screen
            await until(lambda: screen.show.result is not None)
            await until(lambda: "OUTSIDE" in words(app, "finding") if app.screen is screen else True)
            await until(lambda: isinstance(app.screen, ProofScreen) and words(app, "text"))
            assert app.screen.proven.left.decision.state == "inside"
            assert "did what was planned" in words(app, "text")
            assert any("VERDICT: INSIDE" in line for line in app.words), "who leaves by Ctrl+C reads it too"
            assert "Space end" in words(app, "keys") and "sweep again" not in words(app, "keys")
            await press(app, "s", "p")
            await until(
                lambda: all(any(name in row for row in rows(app)) for name in ("● after", "○ before"))
            )
            await leave(app, pilot)
        assert app.return_code == 0

    clockwork.run(main())
    (job,) = (path for path in tmp_path.iterdir() if path.is_dir())
    names = ["found-1.jsonl", "job.toml", "journal.jsonl", "left-1.jsonl", "report.html"]
    assert sorted(path.name for path in job.iterdir()) == names
    assert any("Look around in its shop" in line for line in app.words)


def watched(check, size=(80, 24), unit="thou", speed=FAST, path=RECORDINGS / "launch-found.jsonl"):
    async def main():
        app = CoaxlyApp(lambda app: show_replayed(app, ReplayRun(path, speed)), unit)
        async with app.run_test(size=size) as pilot:
            await until(lambda: isinstance(app.screen, SweepScreen))
            await check(app, pilot)

    clockwork.run(main())


def test_the_circle_is_drawn_five_times_a_second_and_once_more_at_the_end(monkeypatch):
    plain, shown = RoundPlot.show, []

    def noted(plot, picture):
        shown.append((time.monotonic(), len(picture.stations)))
        plain(plot, picture)

    monkeypatch.setattr(RoundPlot, "show", noted)
    watched(finished)
    *running, end = shown
    assert all(later[0] - earlier[0] > 0.199 for earlier, later in pairwise(running))
    assert running[0][1] < running[-1][1] <= end[1] == 9


def turned_past(path):
    """A crank that does not stop: angle and reading in one line, a turn and a bit."""
    dial = {"profile": "angle-and-value", "unit": "mm"}
    lines = [header_line(instrument=dial, angle={"mode": "combined"})]
    for k in range(370):
        data = f"{k % 360:.2f},{0.1 * math.cos(math.radians(k)):+.4f}\r\n"
        lines.append(json.dumps({"t": 0.05 * k, "kind": "raw", "port": "indicator", "data": data}))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_the_bell_rings_for_each_station_that_was_stopped_at_and_for_none_that_was_passed(
    tmp_path, monkeypatch
):
    rung = []
    monkeypatch.setattr(CoaxlyApp, "bell", lambda app: rung.append(app))
    watched(finished, speed=5.0)  # slow enough that each is shown by itself
    assert len(rung) == 9

    async def over(app, pilot):
        await until(lambda: app.screen.show.view().finished)
        assert len(app.screen.show.view().stations) > 70

    watched(over, path=turned_past(tmp_path / "passed.jsonl"))
    assert len(rung) == 9


async def finished(app, pilot):
    await until(lambda: app.screen.show.view().finished and "sealed" in words(app, "status"))


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60)])
def test_a_replay_ends_with_the_finding_whole_on_the_screen(size):
    async def check(app, pilot):
        await finished(app, pilot)
        text = "\n".join(rows(app))
        assert "OUTSIDE the limit" in text and "Housing moves to" in text and "Q quit" in text
        assert len(rows(app)) == size[1]
        plot = app.screen.query_one(RoundPlot)
        assert plot.size.height >= 12 and plot.size.width >= 30

    watched(check, size)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60)])
def test_the_bar_shrinks_while_stations_are_read_and_makes_way_for_the_verdict(size):
    async def check(app, pilot):
        bar, spans = app.screen.query_one(OutlookBar), {}

        def look():
            if bar.shown is not None and app.screen.show.result is None:
                spans[len(app.screen.show.view().stations)] = bar.shown.spread
                assert bar.display and bar.size.height == (1 if size[1] < 32 else 5)
                assert app.screen.query_one(RoundPlot).size.height >= 8
            return app.screen.show.view().finished

        await until(look)
        assert len(spans) > 2 and min(spans) >= 3
        assert spans[max(spans)] < 0.5 * spans[min(spans)]
        await finished(app, pilot)
        await until(lambda: not bar.display)

    watched(check, size, speed=3.0)


def test_a_sweep_that_does_not_stop_has_no_bar_until_it_is_finished(tmp_path):
    async def check(app, pilot):
        await until(lambda: len(app.screen.show.view().stations) > 40)
        await until(lambda: not app.screen.query_one(OutlookBar).display)

    watched(check, path=turned_past(tmp_path / "passed.jsonl"))


def test_units_switch_live():
    async def check(app, pilot):
        await finished(app, pilot)
        assert "thou" in words(app, "finding")
        await pilot.press("m", "m")
        await until(lambda: "mm" in words(app, "finding"))

    watched(check)


def test_digits_only_gives_them_the_screen():
    async def check(app, pilot):
        await finished(app, pilot)
        before = app.screen.query_one("#verdict").size.height
        await pilot.press("d")
        await until(lambda: app.screen.query_one("#verdict").size.height > before)

    watched(check)


def test_digits_alone_grow_on_a_large_screen():
    async def check(app, pilot):
        before = app.screen.query_one("#reading").size
        await pilot.press("d")
        await until(lambda: app.screen.query_one("#reading").size.height > 2 * before.height)
        assert app.screen.query_one("#reading").size.width == 120

    watched(check, size=(120, 40), speed=0.01)


def test_a_dial_that_says_nothing_shows_no_digits():
    dial = BigReading("ascii")
    dial.show(0.127, "thou", live=True)
    alive = dial.drawing(60, 7)
    dial.show(0.127, "thou", live=False)
    silent = dial.drawing(60, 7)
    rows = [sum(any("#" in text for text, _ in row) for row in drawn) for drawn in (silent, alive)]
    assert rows[0] == 1 < rows[1]


def test_quitting_takes_one_key_and_a_replay_can_be_cut_short():
    async def check(app, pilot):
        await leave(app, pilot)

    watched(check, speed=0.01)

    async def hurry(app, pilot):
        await pilot.press("f")
        await finished(app, pilot)

    watched(hurry, speed=0.01)


def test_without_colour_no_colour_is_sent(monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")

    async def check(app, pilot):
        await finished(app, pilot)
        for strip in app.screen._compositor.render_strips():
            for segment in strip:
                colour = segment.style.color if segment.style else None
                assert colour is None or colour.is_default or colour.number is not None, segment

    watched(check)
    assert os.environ["NO_COLOR"] == "1"


def test_plain_characters_only_where_the_font_is_poor(monkeypatch):
    monkeypatch.setenv("COAXLY_GLYPHS", "ascii")

    async def check(app, pilot):
        await finished(app, pilot)
        plot, reading = app.screen.query_one(RoundPlot), app.screen.query_one("#reading")
        for widget in (plot, reading):
            for y in range(widget.size.height):
                assert widget.render_line(y).text.isascii()

    watched(check)


def test_a_held_key_is_one_press(tmp_path):
    async def main():
        app = CoaxlyApp(lambda app: rehearse(app, Rehearsal(1, FAST, tmp_path)), "thou")
        async with app.run_test(size=(80, 24)) as pilot:
            await until(lambda: isinstance(app.screen, SweepScreen))
            taken = []
            app.screen.show.confirm = lambda: taken.append(1)
            for _ in range(5):
                app.screen.action_take()
            assert len(taken) == 1
            await leave(app, pilot)

    clockwork.run(main())


def test_leaving_in_mid_sweep_seals_the_recording(tmp_path):
    async def main():
        app = CoaxlyApp(lambda app: rehearse(app, Rehearsal(1, FAST, tmp_path)), "thou")
        async with app.run_test(size=(80, 24)) as pilot:
            await until(lambda: isinstance(app.screen, SweepScreen))
            await until(lambda: len(app.screen.show.view().stations) >= 1)
            await leave(app, pilot)

    clockwork.run(main())
    (recording,) = tmp_path.glob("*/found-1.jsonl")
    last = recording.read_text().splitlines()[-1]
    assert '"kind":"seal"' in last
