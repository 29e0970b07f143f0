"""From the start screen through a whole job: sweep as found, choose dowels, fit them, sweep as left, proof."""

import asyncio

import clockwork
import pytest
from clockwork import until
from making import THOU
from screening import press, rows, words
from textual import work as beside

from fitter.geometry import polar
from logger.clock import SessionClock
from logger.rig import Engine, Rig
from logger.rigport import RigPort
from tui.entry.preferences import Memory, Preferences
from tui.job.pipeline import replay
from tui.screens.app import BenchApp, CoaxlyApp
from tui.screens.done import DoneScreen
from tui.screens.live import LiveScreen
from tui.screens.pages import Page
from tui.screens.plan import PlanScreen
from tui.screens.question import QuestionScreen
from tui.screens.setting import SettingScreen
from tui.screens.start import StartScreen

OFF = polar(7.0 * THOU, 250.0)


class Shop:
    """An engine with a dial on it, and somebody who turns the crank and works the screen."""

    def __init__(self):
        self.clock = SessionClock()
        self.engine = Engine(centre=OFF, noise=0.05 * THOU, resolution=0.05 * THOU)
        self.rig = Rig(self.engine, turn_deg_s=720.0)

    def line(self, t):
        return f"{self.rig.reading(t) / 25.4:+09.5f}\r\n".encode()

    def fit(self, option):
        """Put the chosen dowels in exactly as planned."""
        shifts = [polar(dowel.offset, dowel.deg) for dowel in option.dowels]
        move = tuple(sum(shift[k] for shift in shifts) / len(shifts) for k in (0, 1))
        self.rig = Rig(self.engine.moved(move), turn_deg_s=720.0)

    async def sweep(self, app):
        """Read every station that is due, then finish and go on."""
        await until(lambda: isinstance(app.screen, LiveScreen))
        screen = app.screen
        run = screen.show.run
        await until(lambda: run.steady)
        at = 0.0
        while (due := run.next_deg) is not None:
            at = due if due >= at else due + 360.0 * ((at - due) // 360.0 + 1)
            arrival = self.rig.turn_to(at, self.clock())
            await until(lambda t=arrival: self.clock() > t + 0.7 and run.steady)
            read = len(run.view().stations)
            await press(app, "space")
            await until(lambda n=read: len(run.view().stations) > n)
        await press(app, "f")
        await until(lambda: isinstance(app.screen, DoneScreen) and "sealed" in words(app, "title"))
        screen = app.screen
        await asyncio.sleep(1.0)  # somebody looks at it: keys that follow each other closely are one
        await press(app, "space")
        await until(lambda: app.screen is not screen)
        return run


async def set_dowels(app):
    """A pedal pressed once too often does not take the page away."""
    await until(lambda: isinstance(app.screen, SettingScreen))
    await press(app, "space", "space")
    assert isinstance(app.screen, SettingScreen)
    await press(app, "l")


async def at_the_start(app):
    await until(lambda: isinstance(app.screen, StartScreen) and app.screen.ready)


def whole_job(memory, work, **fields):
    async def main():
        shop = Shop()
        async with RigPort(shop.line, shop.clock) as port:
            memory.keep(port=port.url, dial_unit="in", **fields)
            app = BenchApp(memory, Preferences())
            async with app.run_test(size=(80, 24)):
                await work(app, shop)
                await at_the_start(app)
                app.screen.action_go("quit")
                await until(lambda: app._exit)

    clockwork.run(main())


@pytest.fixture
def memory(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return Memory(tmp_path / "state" / "last.json")


def test_a_job_goes_from_the_start_screen_to_its_proof(tmp_path, memory):
    async def work(app, shop):
        await at_the_start(app)
        await press(app, "f2")
        await until(lambda: isinstance(app.screen, Page) and "must not start" in words(app, "text"))
        await press(app, "space")
        found = await shop.sweep(app)
        assert found.result.eccentricity.vector == pytest.approx(OFF, abs=0.3 * THOU)
        await until(lambda: isinstance(app.screen, PlanScreen))
        option = app.screen.options[0]
        assert option.dowels
        await until(lambda: "high side" in words(app, "guide"))
        await press(app, "space")
        await set_dowels(app)
        await at_the_start(app)
        assert "Dowels in: 2 x " in words(app, "words") and "Now sweep as left (F2)" in words(app, "words")
        assert any("Dowels F6" in row for row in rows(app))
        shop.fit(option)
        await press(app, "f2")
        left = await shop.sweep(app)
        assert left.result.decision.state == "inside"
        await until(lambda: isinstance(app.screen, Page) and "VERDICT: INSIDE" in words(app, "text"))
        assert "did what was planned" in words(app, "text")
        await press(app, "space")

    whole_job(memory, work, job="blue van", kit="5thou,7thou,10thou")
    kept = {replay(path).header.stage: replay(path) for path in tmp_path.glob("*.jsonl")}
    assert sorted(kept) == ["found", "left"]
    assert kept["found"].stored_result["decision"]["state"] == "outside"
    assert kept["left"].stored_result["decision"]["state"] == "inside"
    assert memory.get("read_cautions") == "yes"


def test_after_a_restart_the_job_goes_on_where_it_stood_round_after_round(tmp_path, memory):
    """Found, chosen, program closed; left without the dowels, chosen anew, closed; left with them."""
    rounds = []

    async def begin(app, shop):
        await at_the_start(app)
        await press(app, "f2")
        await shop.sweep(app)
        await until(lambda: isinstance(app.screen, PlanScreen))
        await press(app, "space")
        await set_dowels(app)

    async def second(app, shop):
        await at_the_start(app)
        assert "blue van: fit 2 x" in words(app, "words")
        await press(app, "f6")
        await until(lambda: isinstance(app.screen, SettingScreen) and "high side" in words(app, "guide"))
        await press(app, "q")
        await at_the_start(app)
        await press(app, "f2")
        await shop.sweep(app)
        await until(lambda: isinstance(app.screen, Page) and "VERDICT: OUTSIDE" in words(app, "text"))
        assert words(app, "text").startswith("  What to do: ")
        assert "did what was planned" not in words(app, "text")
        await press(app, "space")
        await until(lambda: isinstance(app.screen, PlanScreen))
        rounds.append(app.screen.options[0])
        await press(app, "space")
        await set_dowels(app)

    async def third(app, shop):
        shop.fit(rounds[0])
        await at_the_start(app)
        await press(app, "f2")
        await shop.sweep(app)
        await until(lambda: isinstance(app.screen, Page) and "VERDICT: INSIDE" in words(app, "text"))
        assert "did what was planned" in words(app, "text")
        await press(app, "space")

    fields = {"job": "blue van", "kit": "5thou,7thou,10thou", "read_cautions": "yes"}
    whole_job(memory, begin, **fields)
    whole_job(Memory(memory.path), second, **fields)
    whole_job(Memory(memory.path), third, **fields)
    assert sorted(path.name for path in tmp_path.glob("*.jsonl")) == [
        "blue-van-found-1.jsonl", "blue-van-left-1.jsonl", "blue-van-left-2.jsonl",
    ]  # fmt: skip


def test_a_left_sweep_alone_advises_no_dowels(memory):
    async def work(app, shop):
        await at_the_start(app)
        await press(app, "f2")
        await shop.sweep(app)
        await until(lambda: isinstance(app.screen, Page) and "nothing can be proved" in words(app, "text"))
        await press(app, "space")

    whole_job(memory, work, job="-blue --van", kit="5thou", stage="left", read_cautions="yes")


async def left_after_one_station(app):
    """A sweep is begun, read at one station, and left to be gone on with."""
    await at_the_start(app)
    await press(app, "f2")
    await until(lambda: isinstance(app.screen, LiveScreen) and app.screen.show.run.steady)
    run = app.screen.show.run
    await press(app, "space")
    await until(lambda: len(run.view().stations) == 1)
    await press(app, "q")
    await until(lambda: isinstance(app.screen, QuestionScreen))
    await press(app, "s")
    await at_the_start(app)


def test_what_was_left_off_is_offered_and_gone_on_with(tmp_path, memory):
    async def work(app, shop):
        await left_after_one_station(app)
        await press(app, "f2")
        await until(lambda: isinstance(app.screen, QuestionScreen) and "broken off" in words(app, "question"))
        await press(app, "g")
        run = await shop.sweep(app)
        assert run.result is not None and len(run.view().stations) == 9
        await until(lambda: isinstance(app.screen, PlanScreen))
        await press(app, "q")

    whole_job(memory, work, job="blue van", kit="5thou", read_cautions="yes", stage="nonsense")
    assert len(list(tmp_path.glob("*.jsonl"))) == 1


def test_a_state_file_that_cannot_be_read_is_said_and_left_alone(tmp_path, memory):
    path = tmp_path / "blue-van-job.json"
    path.write_text("{")

    async def work(app, shop):
        await until(lambda: "mend or remove it" in words(app, "words"))

    whole_job(memory, work, job="blue van", kit="5thou")
    assert path.read_text() == "{"


def test_dowels_that_were_not_fitted_are_found_out(memory):
    async def work(app, shop):
        await at_the_start(app)
        await press(app, "f2")
        await shop.sweep(app)
        await until(lambda: isinstance(app.screen, PlanScreen))
        await press(app, "space")
        await set_dowels(app)
        await at_the_start(app)
        await press(app, "f2")
        await shop.sweep(app)
        await until(lambda: isinstance(app.screen, Page) and "VERDICT" in words(app, "text"))
        assert "did what was planned" not in words(app, "text")
        assert "VERDICT: OUTSIDE" in words(app, "text")
        await press(app, "q")

    whole_job(memory, work, job="blue van", kit="5thou,7thou,10thou", read_cautions="yes")


def test_a_sweep_that_is_left_early_is_kept_and_said(tmp_path, memory):
    async def work(app, shop):
        await left_after_one_station(app)
        assert "Kept as far as it went" in words(app, "words")

    whole_job(memory, work, job="blue van", kit="5thou", read_cautions="yes")
    (path,) = tmp_path.glob("*.jsonl")
    assert len(replay(path).fitter.stations()) == 1


def test_a_kit_that_cannot_be_read_is_said_before_anything_is_swept(tmp_path, memory):
    async def work(app, shop):
        await at_the_start(app)
        await press(app, "f2")
        await until(lambda: isinstance(app.screen, StartScreen) and "!" in words(app, "words"))
        assert "5 ells" in words(app, "words")

    whole_job(memory, work, job="blue van", kit="5 ells", read_cautions="yes")
    assert list(tmp_path.glob("*.jsonl")) == []


@pytest.mark.parametrize(
    ("kept", "ports", "focus", "port"),
    [
        ({}, ["/dev/ttyS0"], "job", ""),
        ({"job": "blue van"}, ["/dev/ttyS0"], "port", ""),
        ({"job": "blue van"}, ["/dev/ttyS0", "/dev/ttyUSB0"], "sweep", "/dev/ttyUSB0"),
    ],
)
def test_the_form_waits_where_something_is_missing(tmp_path, kept, ports, focus, port):
    memory = Memory(tmp_path / "memory.json")
    memory.keep(**kept)

    class App(CoaxlyApp):
        @beside
        async def flow(self):
            await self.push_screen_wait(StartScreen(memory, [(p, p) for p in ports], "", "5thou"))
            self.exit()

    async def main():
        app = App("thou")
        async with app.run_test(size=(80, 24)):
            await at_the_start(app)
            await until(lambda: app.focused is not None and app.focused.id == focus)
            assert app.screen.query_one("#port").value == port
            app.screen.action_go("quit")
            await until(lambda: app._exit)

    clockwork.run(main())
