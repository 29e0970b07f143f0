"""The start screen and what follows from it; the keys of a live sweep; what may go wrong on a screen."""

import asyncio
import dataclasses
import os
import shutil
import subprocess
import sys
import time

import clockwork
import pytest
from benching import Bench
from golden import kept
from making import RECORDINGS, by_hand
from screening import leave, press, rows, until, words
from textual.widgets import Input

from coaxly.entry.preferences import Memory, Preferences, load_preferences
from coaxly.fitter.dowels.plan import Dowel, Option, Predicted
from coaxly.job.demo.rehearsal import Rehearsal
from coaxly.job.recorded.pipeline import replay
from coaxly.job.sweep.news import Do, News, Task, What
from coaxly.job.sweep.replayrun import ReplayRun
from coaxly.job.sweep.resume import resume
from coaxly.job.sweep.schedule import Plan
from coaxly.logger.rig.engine import Engine
from coaxly.say.sweep.sweepwords import told
from coaxly.screens.app import CoaxlyApp, show_replayed, show_swept
from coaxly.screens.jobs.planscreen import PlanScreen
from coaxly.screens.jobs.settingscreen import SettingScreen
from coaxly.screens.rehearsing import rehearse
from coaxly.screens.small.askscreens import AskScreen, QuestionScreen
from coaxly.screens.small.manualscreen import HelpScreen
from coaxly.screens.sweeping.donescreen import DoneScreen
from coaxly.screens.sweeping.livescreen import LiveScreen
from coaxly.screens.sweeping.replayscreen import ReplayScreen


def screen_of(app, size, work):
    async def main():
        async with app.run_test(size=size) as pilot:
            await work(app, pilot)

    clockwork.run(main())


@pytest.mark.arithmetic
@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40), (200, 60)], ids=str)
def test_the_finished_sweep_looks_as_it_did(size):
    """Plain-text pictures in tests/golden. Remarks stay out of them: how those are put is tested where they are made."""

    async def work(app, pilot):
        await until(lambda: isinstance(app.screen, ReplayScreen) and app.screen.show.view().finished)
        await until(lambda: "sealed" in words(app, "status") and "OUTSIDE" in words(app, "finding"))
        show = app.screen.show
        show.result = dataclasses.replace(show.result, remarks=())
        await until(lambda: "note:" not in words(app, "finding"))
        await asyncio.sleep(0.5)  # a few redraws: all is laid out
        await pilot.pause()
        picture = "\n".join(line.rstrip() for line in rows(app)) + "\n"
        assert picture == kept(f"finished-{size[0]}x{size[1]}", picture)

    screen_of(
        CoaxlyApp(lambda app: show_replayed(app, ReplayRun(RECORDINGS / "launch-found.jsonl", 50.0)), "thou"),
        size,
        work,
    )


def test_a_small_terminal_says_what_all_of_it_wants_and_grows_back():
    async def work(app, pilot):
        await until(lambda: isinstance(app.screen, ReplayScreen))
        await until(lambda: app.screen.has_class("small"))
        await until(lambda: "wants 60 x 20" in words(app, "small"))
        await pilot.resize_terminal(80, 24)
        await until(lambda: not app.screen.has_class("small"))
        await leave(app, pilot)

    screen_of(
        CoaxlyApp(lambda app: show_replayed(app, ReplayRun(RECORDINGS / "launch-found.jsonl", 1.0)), "thou"),
        (40, 12),
        work,
    )


def test_a_replay_can_be_held_stepped_paced_and_jumped():
    async def work(app, pilot):
        await until(lambda: isinstance(app.screen, ReplayScreen))
        run = app.screen.replay
        await press(app, "w")
        await until(lambda: run.paused)
        before = run.view().samples, run._t
        await press(app, "r")
        await until(lambda: run._t > before[1] or len(run.view().stations) > 0)
        await press(app, "plus", "plus")
        await until(lambda: run.speed == 5.0)
        await press(app, "minus")
        await until(lambda: run.speed == 2.0)
        await press(app, "w", "space")
        await until(lambda: len(run.view().stations) >= 1)
        await press(app, "f")
        await until(lambda: run.view().finished)
        await leave(app, pilot)

    screen_of(
        CoaxlyApp(lambda app: show_replayed(app, ReplayRun(RECORDINGS / "launch-found.jsonl", 1.0)), "thou"),
        (80, 24),
        work,
    )


def test_form_that_dowels_cannot_cure_is_on_the_screen(tmp_path):
    path = by_hand(tmp_path / "f.jsonl", [0, 0.003, -0.002, 0.003])

    async def work(app, pilot):
        await until(lambda: "out of round" in words(app, "finding"))
        assert "Not off-centre by more than" in words(app, "finding")
        await leave(app, pilot)

    screen_of(CoaxlyApp(lambda app: show_replayed(app, ReplayRun(path, 100.0)), "thou"), (120, 40), work)


def live(path, work, size=(80, 24), preferences=None):
    bench = Bench(path, Plan(4), Engine(centre=(0.05, -0.08), noise=0.0005), turn_deg_s=180.0)

    async def main():
        async with bench.port() as port:
            bench.run.sources = bench.sources(port)
            app = CoaxlyApp(lambda app: show_swept(app, bench.run), "mm", preferences)
            async with app.run_test(size=size) as pilot:
                await until(lambda: isinstance(app.screen, LiveScreen) and bench.run.steady)
                await work(app, pilot, bench)

    clockwork.run(main())
    return bench.run


async def take(app, pilot, bench, key="space"):
    before = len(bench.run.view().stations)
    for _ in range(60):
        # Where a busy machine carries lines so late that the dial is called silent, one presses again.
        if not bench.run.view().waiting_for_steady:
            app.screen._pressed = -1.0  # a person would have waited
            await press(app, key)
        await asyncio.sleep(0.5)
        if len(bench.run.view().stations) > before:
            break
    assert len(bench.run.view().stations) == before + 1
    await until(lambda: bench.run.steady)


def test_a_sweep_is_worked_with_one_key_from_first_to_closing(tmp_path):
    async def work(app, pilot, bench):
        for k in range(5):
            arrival = bench.rig.turn_to(90.0 * k, bench.clock())
            await until(lambda a=arrival: bench.clock() > a + 0.6 and bench.run.steady)
            await take(app, pilot, bench)
        await until(lambda: "all stations read" in words(app, "prompt").lower())
        await press(app, "f")
        # Four stations leave one to judge scatter by: the verdict itself is a matter of luck.
        await until(lambda: isinstance(app.screen, DoneScreen) and "sealed" in words(app, "title"))
        assert "dial TIR" in words(app, "said") and "NEXT: leave" in words(app, "next")
        await asyncio.sleep(1.0)
        await press(app, "space")
        await until(lambda: app._exit)

    run = live(tmp_path / "s.jsonl", work)
    assert run.result.eccentricity.vector == pytest.approx((0.05, -0.08), abs=0.003)


def test_undo_retake_pause_note_and_more_turns(tmp_path):
    async def work(app, pilot, bench):
        await take(app, pilot, bench)
        await press(app, "u")
        await until(lambda: len(bench.run.view().stations) == 0)
        await take(app, pilot, bench, "pagedown")
        await press(app, "r")
        await until(lambda: len(bench.run.view().stations) == 1 and not bench.run.view().waiting_for_steady)
        await press(app, "p")
        app.screen._pressed = -1.0
        await press(app, "space")
        await until(lambda: bench.run.view().paused and "paused" in told(bench.run.view().news))
        await until(lambda: words(app, "prompt").startswith("Paused: P goes on"))
        await press(app, "p")
        await until(lambda: not bench.run.view().paused)
        planned = bench.run.view().planned
        await press(app, "t", "o")
        await until(lambda: bench.run.view().planned == planned + 10)
        await press(app, "n")
        await until(lambda: isinstance(app.screen, AskScreen) and isinstance(app.focused, Input))
        app.focused.value = "cold engine"
        await app.focused.action_submit()
        await until(lambda: isinstance(app.screen, LiveScreen))
        await press(app, "question_mark")
        await until(lambda: isinstance(app.screen, HelpScreen))
        assert "pedal" in words(app, "text")
        await press(app, "escape")
        await until(lambda: isinstance(app.screen, LiveScreen))
        await leave(app, pilot)

    live(tmp_path / "s.jsonl", work)
    text = (tmp_path / "s.jsonl").read_text()
    assert "cold engine" in text and '"text":"paused"' in text
    assert replay(tmp_path / "s.jsonl").header.setup["closing"]


def test_any_key_can_be_the_pedal(tmp_path):
    async def work(app, pilot, bench):
        await take(app, pilot, bench, "f7")
        await leave(app, pilot)

    live(tmp_path / "s.jsonl", work, preferences=Preferences(take_keys=("f7",)))


def test_a_lost_cable_is_said_in_large_words(tmp_path):
    async def work(app, pilot, bench):
        lost = dataclasses.replace(bench.run.view(), link="lost", task=Task(Do.PLUG_IN, ports=("indicator",)))
        app.screen.show.view = lambda: lost
        await until(lambda: "LOST" in words(app, "status"))
        assert "plug it in again" in words(app, "prompt")
        del app.screen.show.view
        await leave(app, pilot)

    live(tmp_path / "s.jsonl", work)


def test_a_crash_of_a_widget_leaves_the_recording_safe(tmp_path, monkeypatch):
    from coaxly.widgets.roundplot import RoundPlot

    def broken(self, width, height):
        raise RuntimeError("a widget broke")

    async def work(app, pilot, bench):
        await take(app, pilot, bench)
        monkeypatch.setattr(RoundPlot, "drawing", broken)
        app.screen.query_one(RoundPlot).stale()
        await until(lambda: app._exception is not None or app._exit)

    with pytest.raises(RuntimeError, match="a widget broke"):
        live(tmp_path / "s.jsonl", work)
    lines = (tmp_path / "s.jsonl").read_text().splitlines()
    assert '"kind":"seal"' in lines[-1]
    assert any('"kind":"station"' in line for line in lines)


def test_dowels_are_chosen_from_a_table(tmp_path):
    async def work(app, pilot):
        await until(lambda: isinstance(app.screen, PlanScreen))
        plan = app.screen
        await until(lambda: "Run-out after" in words(app, "guide"))
        first = words(app, "guide")
        await press(app, "right")
        await until(lambda: words(app, "guide") not in (first, ""))
        await press(app, "m", "m")
        await until(lambda: " mm" in words(app, "guide"))
        await asyncio.sleep(1.0)
        await press(app, "space")
        await until(lambda: app.screen is not plan)
        await leave(app, pilot)

    screen_of(CoaxlyApp(lambda app: rehearse(app, Rehearsal(1, 60.0, tmp_path)), "thou"), (80, 24), work)


def test_settings_are_read_and_mistakes_named(tmp_path):
    from coaxly.errors import UsageError

    path = tmp_path / "settings.toml"
    assert load_preferences(path) == Preferences()
    path.write_text('unit = "mm"\ntake_keys = ["f7"]\n')
    assert load_preferences(path).take_keys == ("f7",) and load_preferences(path).source == str(path)
    for text, word in (
        ('unit = "ell"', "unit"),
        ("take_keys = 3", "take_keys"),
        ('take_keys = ["pedal"]', "no key is called 'pedal'"),
        ('take_keys = ["q"]', "does something else"),
        ("x = 1", "no setting is called"),
        ("=", "settings"),
    ):
        path.write_text(text)
        with pytest.raises(UsageError, match=word):
            load_preferences(path)


def test_a_state_file_of_rubbish_is_no_reason_to_stop(tmp_path):
    path = tmp_path / "last.json"
    path.write_bytes(b"\xff{")
    assert Memory(path).get("port") == ""
    path.write_text("[1]")
    assert Memory(path).get("job", "x") == "x"


@pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed")
@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=str)
def test_in_a_real_terminal_from_found_to_verdict(tmp_path, size):
    """The installed command in tmux: the rig is swept, dowels chosen, proof shown, one key quits."""
    server = ["tmux", "-L", f"coaxly-{os.getpid()}-{size[0]}", "-f", "/dev/null"]
    command = (
        f"{sys.executable} -m coaxly demo --engine 1 --speed 12 --keep {tmp_path}/job; echo LEFT=$?; sleep 30"
    )
    env = {**os.environ, "TERM": "screen-256color"}

    def screen():
        return subprocess.run([*server, "capture-pane", "-p"], capture_output=True, text=True, env=env).stdout

    def wait_for(text):
        deadline = time.monotonic() + 60
        while text not in (seen := screen()):
            assert time.monotonic() < deadline, seen
            time.sleep(0.1)
        return seen

    subprocess.run(
        [*server, "new-session", "-d", "-x", str(size[0]), "-y", str(size[1]), command], check=True, env=env,
        cwd=RECORDINGS.parent,
    )  # fmt: skip
    try:
        wait_for("Space take")
        wait_for(" thou")
        wait_for("dowels, best first")
        wait_for("did it work?")
        wait_for("did what was planned")
        subprocess.run([*server, "send-keys", "q"], check=True, env=env)
        assert "LEFT=0" in wait_for("LEFT=")
    finally:
        subprocess.run([*server, "kill-server"], env=env)
    (left,) = (tmp_path / "job").glob("*/left-1.jsonl")
    assert replay(left).result().decision.state == "inside"


async def asked(app):
    await until(lambda: isinstance(app.screen, QuestionScreen))


def test_leaving_in_mid_sweep_is_asked_and_what_is_kept_can_be_gone_on_with(tmp_path):
    path = tmp_path / "s.jsonl"

    async def work(app, pilot, bench):
        await take(app, pilot, bench)
        await press(app, "q")
        await asked(app)
        assert "Nothing is thrown away" in words(app, "question")
        await press(app, "space")
        await until(lambda: isinstance(app.screen, LiveScreen))
        assert not bench.run.finished.is_set()
        await take(app, pilot, bench)
        await press(app, "q")
        await asked(app)
        await press(app, "s")
        await until(lambda: app._exit)

    run = live(path, work)
    assert run.result is None and len(replay(path).fitter.stations()) == 2
    again, _, _ = resume(path)
    assert again.remaining == 3
    again.session.writer.close()


def test_a_single_f_with_stations_due_does_not_end_the_sweep(tmp_path):
    async def work(app, pilot, bench):
        await take(app, pilot, bench)
        await press(app, "f")
        await until(lambda: "4 stations are due, too few are read for a result" in words(app, "message"))
        assert not bench.run.finished.is_set()
        await press(app, "f")
        await until(lambda: bench.run.finished.is_set())
        await leave(app, pilot)

    live(tmp_path / "s.jsonl", work)


LONG = " ".join(f"word{k}" for k in range(30)) + " END"


@pytest.mark.parametrize("size", [(60, 20), (80, 24)], ids=str)
def test_nothing_that_is_said_is_cut_off(tmp_path, size):
    async def work(app, pilot, bench):
        bench.run.say(News(What.FAILED, text=LONG))
        await until(lambda: "END" in " ".join(rows(app)))
        await leave(app, pilot)

    live(tmp_path / "s.jsonl", work, size)


def test_a_finding_that_is_longer_than_the_screen_says_so_and_scrolls(tmp_path):
    path = by_hand(tmp_path / "f.jsonl", [0, 0.003, -0.002, 0.003])

    async def work(app, pilot):
        await until(lambda: "Down more" in words(app, "keys"))
        last = words(app, "finding").split()[-1]
        for _ in range(40):
            await press(app, "down")
        await until(lambda: any(last in row for row in rows(app)))
        await leave(app, pilot)

    screen_of(CoaxlyApp(lambda app: show_replayed(app, ReplayRun(path, 100.0)), "thou"), (60, 20), work)


def test_after_the_shell_a_moment_of_deafness(tmp_path):
    async def work(app, pilot, bench):
        await take(app, pilot, bench)
        app.app_suspend_signal.publish(app)
        await until(lambda: bench.run.view().paused)
        app.app_resume_signal.publish(app)
        await press(app, "f", "g")
        await asyncio.sleep(0.3)
        assert not bench.run.finished.is_set() and "due" not in told(bench.run.view().news)
        await asyncio.sleep(1.0)
        await press(app, "p")
        await until(lambda: not bench.run.view().paused)
        await leave(app, pilot)

    live(tmp_path / "s.jsonl", work)


def test_the_page_of_the_dowels_stays_whatever_the_pedal_presses(tmp_path):
    option = Option(
        pair="parallel", dowels=(Dowel.at(0.127, 60.0), Dowel.at(0.127, 60.0)), predicted=Predicted(0.01, 0.02),
        probability=0.9, window_deg=20.0,
    )  # fmt: skip
    answers = []

    async def flow(app):
        answers.append(await app.push_screen_wait(SettingScreen("blue van", option, None)))
        return ()

    async def operate(app, pilot):
        await until(lambda: isinstance(app.screen, SettingScreen) and "FRONT" in words(app, "guide"))
        await press(app, "space", "enter", "pagedown", "space")
        await asyncio.sleep(1.0)
        assert isinstance(app.screen, SettingScreen) and "blue van" in words(app, "title")
        assert app.screen.query_one("#large")._text == "BOTH TO 2:00"
        drawn = rows(app)[1:8]
        assert (
            sum(
                any(char in row for char in "▀▄█▌▐") or any(0x2800 < ord(c) < 0x2900 for c in row)
                for row in drawn
            )
            >= 5
        )
        await press(app, "l")
        await until(lambda: app._exit)

    screen_of(CoaxlyApp(flow, "thou"), (80, 24), operate)
    assert answers == ["in"]
