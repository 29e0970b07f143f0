"""A replay goes on and back to any station, and whatever way it was watched it says the same."""

import asyncio
import json

import clockwork
import pytest
from making import RECORDINGS, by_hand
from screening import press, rows, until, words

from coaxly.job.sweep.replayrun import ReplayRun, Timeline, read_timeline
from coaxly.screens.app import CoaxlyApp, show_replayed
from coaxly.screens.sweeping.replayscreen import ReplayScreen, TimeBar
from coaxly.widgets.roundplot import RoundPlot

FOUND = RECORDINGS / "launch-found.jsonl"


def read(run):
    return len(run.view().stations)


def test_the_timeline_knows_the_stations_and_the_end():
    line = read_timeline(FOUND)
    records = [json.loads(text) for text in FOUND.read_text().splitlines()]
    assert list(line.marks) == [each["t"] for each in records if each["kind"] == "station"]
    assert line.length == pytest.approx(max(each.get("t", 0.0) for each in records))
    assert line.after(0.0) == line.marks[0] and line.after(line.marks[-1]) == line.length
    assert line.before(line.marks[3] + 0.1) == line.marks[2] and line.before(line.marks[0]) == 0.0


def test_a_damaged_recording_or_none_has_a_timeline_as_far_as_it_can_be_read(tmp_path):
    path = by_hand(tmp_path / "a.jsonl", [0.01] * 8)
    path.write_bytes(path.read_bytes() + b'{"kind":"station","t":"x"}\n\xff\xfe station\n{"t":9')
    assert len(read_timeline(path).marks) == 8
    assert read_timeline(tmp_path / "none.jsonl") == Timeline()
    assert read_timeline(tmp_path) == Timeline()


def test_a_sweep_that_stops_nowhere_has_tenths(tmp_path):
    path = tmp_path / "a.jsonl"
    path.write_text('{"kind":"header"}\n{"kind":"raw","t":20.0,"port":"indicator","data":"1"}\n')
    assert read_timeline(path).marks == pytest.approx([2.0 * k for k in range(1, 10)])


def test_going_on_and_back_ends_with_the_same_bits():
    async def main():
        straight = ReplayRun(FOUND, 50.0)
        await straight.play()
        run = ReplayRun(FOUND, 1.0)
        run.stays = True
        playing = asyncio.create_task(run.play())
        await until(lambda: run.timeline.marks)
        marks = run.timeline.marks
        run.pause()
        for number in (5, 2, 7):
            run.jump_to(marks[number - 1])
            await until(lambda n=number: read(run) == n and run.at == pytest.approx(marks[n - 1]))
            assert run.paused and run.result is None
        run.finish()
        await until(lambda: run.result is not None)
        assert run.result == straight.result
        run.jump_to(marks[0])
        await until(lambda: read(run) == 1 and run.result is None and not run.view().finished)
        run.finish()
        await until(lambda: run.view().finished)
        assert run.result == straight.result
        playing.cancel()

    clockwork.run(main())


def test_nothing_points_before_there_is_a_direction():
    async def main():
        app = CoaxlyApp(
            lambda app: show_replayed(app, ReplayRun(RECORDINGS / "launch-left.jsonl", 1.0)), "thou"
        )
        async with app.run_test(size=(80, 24)):
            await until(lambda: isinstance(app.screen, ReplayScreen) and app.screen.replay.timeline.marks)
            await press(app, "w", "3")
            await until(lambda: "No direction yet" in words(app, "finding"))
            assert app.screen.query_one(RoundPlot)._picture.move_deg is None
            await press(app, "q")
            await until(lambda: app._exit)

    clockwork.run(main())


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (200, 55)])
def test_keys_jump_to_stations_and_the_bar_shows_where_it_is(size):
    async def main():
        app = CoaxlyApp(lambda app: show_replayed(app, ReplayRun(FOUND, 1.0)), "thou")
        async with app.run_test(size=size):
            await until(lambda: isinstance(app.screen, ReplayScreen) and app.screen.replay.timeline.marks)
            run = app.screen.replay
            await press(app, "w", "3")
            await until(lambda: read(run) == 3 and words(app, "message") == "station 3:00 taken")
            title = words(app, "title")
            assert title.endswith("seen from behind") and len(title) <= size[0] - 2
            assert (FOUND.name in title) == (size[0] > 60), "the name of the file gives way first"
            await press(app, "right", "right")
            await until(lambda: read(run) == 5)
            await until(lambda: "Housing moves to" in words(app, "finding"))
            await until(
                lambda: app.screen.query_one(RoundPlot)._picture.move_deg == pytest.approx(122, abs=5)
            )
            await press(app, "left", "left")
            await until(lambda: read(run) == 3)
            await until(
                lambda: any(f" {run.at:.1f} of {run.timeline.length:.1f} s" in row for row in rows(app))
            )
            assert any("1" in row and "9" in row and "8" in row for row in rows(app)[-1:])
            await press(app, "f")
            await until(lambda: run.result is not None and "Left" in words(app, "keys"))
            await press(app, "home")
            await until(lambda: read(run) == 0 and run.result is None)
            await press(app, "q")
            await until(lambda: app._exit)

    clockwork.run(main())


@pytest.mark.parametrize("glyphs", ["blocks", "ascii"])
@pytest.mark.parametrize("width", [58, 80, 200])
def test_the_bar_is_as_far_as_the_time_is(glyphs, width):
    bar = TimeBar(glyphs)
    line = Timeline(10.0, tuple(float(k) for k in range(1, 10)))
    now = "O" if glyphs == "ascii" else "●"
    places = []
    for at in (0.0, 5.0, 10.0):
        bar.show(line, at)
        drawn = bar.drawing(width, 2)
        assert all(sum(len(text) for text, _ in row) <= width for row in drawn)
        places.append(drawn[0][0][0].index(now))
        assert f"{at:.1f} of 10.0 s" in drawn[0][1][0]
    assert places[0] < places[1] < places[2]
    bar.show(Timeline(), 0.0)
    assert bar.drawing(width, 2)
