"""The crank's encoder: learnt by a turn that the screen asks for, through the real serial path; kept beside the
dial, and used by the sweep of a job.
"""

import asyncio
import contextlib
import json

import clockwork
from clockwork import until
from screening import press, rows, set_up, words

from coaxly.entry.preferences import Memory, Preferences
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Opened, now
from coaxly.logger.clock import SessionClock
from coaxly.logger.profile import load
from coaxly.logger.rig.rigport import RigPort
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.dial import dialflow
from coaxly.screens.dial.finddialscreen import FindDialScreen
from coaxly.screens.dial.turnscreen import TurnScreen
from coaxly.screens.flows import work_bench
from coaxly.screens.jobs.jobsscreen import JobsScreen
from coaxly.screens.small.askscreens import AskScreen, QuestionScreen
from coaxly.screens.small.cautionsscreen import CautionsScreen
from coaxly.screens.sweeping.livescreen import LiveScreen

TURN_S = 6.0


class Crank:
    """A crank with an encoder that says `line(deg)`; turned once on being told to."""

    def __init__(self, line):
        self.clock, self.line = SessionClock(), line
        self.since, self.degrees = None, 360.0

    def deg(self, t):
        return 0.0 if self.since is None else self.degrees * min(max(t - self.since, 0.0) / TURN_S, 1.0)

    def says(self, t):
        return self.line(self.deg(t)).encode("latin-1")


def at_crank(tmp_path, monkeypatch, line, work, *, size=(80, 24)):
    """The program, and a dial and an encoder on ports; work(app, crank, ports). What it remembers."""
    memory = Memory(tmp_path / "state" / "last.json")

    async def main():
        crank = Crank(line)
        async with contextlib.AsyncExitStack() as stack:
            dial = RigPort(lambda t: b"+0.0123\r\n", crank.clock)
            ports = [
                (await stack.enter_async_context(port)).url
                for port in (dial, RigPort(crank.says, crank.clock))
            ]
            monkeypatch.setattr(dialflow, "_ports_here", lambda: ports)
            app = CoaxlyApp(lambda app: work_bench(app, memory, tmp_path / "shop"), "thou", Preferences())
            app.memory = memory
            async with app.run_test(size=size):
                await until(lambda: isinstance(app.screen, JobsScreen) and words(app, "step"))
                await asyncio.sleep(0.5)
                await work(app, crank, ports)
                if not app._exit:
                    app.exit()

    clockwork.run(main())
    return memory


async def at_turn(app, ports):
    """Pick the encoder's port, and wait for the page that asks for the turn."""
    await press(app, "f")
    await until(lambda: isinstance(app.screen, FindDialScreen) and ports[1] in "\n".join(rows(app)))
    while app.screen.picked.port != ports[1]:
        await press(app, "down")
    await press(app, "e")
    await until(lambda: isinstance(app.screen, TurnScreen) and "Set the crank" in words(app, "todo"))
    await asyncio.sleep(1.0)


async def turned(app, crank, degrees=360.0):
    """Space, a turn, Space."""
    await press(app, "space")
    await until(lambda: "CLOCKWISE" in words(app, "todo"))
    crank.since, crank.degrees = crank.clock() + 1.0, degrees
    await asyncio.sleep(TURN_S + 2.0)
    await press(app, "space")


async def typed(app, text):
    await until(lambda: isinstance(app.screen, AskScreen) and app.focused is not None)
    app.focused.value = text
    await press(app, "enter")


def test_a_turn_tells_counts_way_and_wrap_and_the_sweep_uses_them(tmp_path, monkeypatch):
    open_job(tmp_path / "shop", "van", {"kit": "5thou"}, Opened(time=now(), title="van"))

    async def work(app, crank, ports):
        await at_turn(app, ports)
        await turned(app, crank)
        await until(lambda: isinstance(app.screen, QuestionScreen))
        assert "are they 4096 for one turn" in words(app, "question")
        await press(app, "y")
        await until(lambda: isinstance(app.screen, FindDialScreen))
        await until(lambda: "4096 counts for one turn, against the crank" in words(app, "said"))
        await press(app, "q")
        await until(lambda: isinstance(app.screen, JobsScreen) and words(app, "step"))
        app.memory.keep(port=ports[0], dial_unit="mm")
        await asyncio.sleep(1.0)
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, CautionsScreen))
        await press(app, "space")
        await set_up(app)
        await until(lambda: isinstance(app.screen, LiveScreen))
        assert set(app.screen.show.sources) == {"indicator", "encoder"}
        await until(lambda: "F finish" in words(app, "keys"))
        assert "take" not in words(app, "keys")
        await press(app, "space")
        await until(lambda: "every reading brings its angle" in words(app, "message"))
        crank.since = crank.clock() + 1.0
        run = app.screen.run
        await until(lambda: "All round: Space finishes" in words(app, "prompt"))
        await press(app, "space")  # at once: nobody can have read that
        await until(lambda: "press again to finish" in words(app, "message"))
        assert not run.finished.is_set()
        await asyncio.sleep(2.0)
        await press(app, "space")
        await until(run.finished.is_set)

    memory = at_crank(
        tmp_path, monkeypatch, lambda deg: f"{(1000 - round(deg / 360 * 4096)) % 65536}\r\n", work
    )
    profile = load(memory.get("encoder_profile"))
    assert (profile.counts_per_turn, profile.wrap, profile.direction) == (4096.0, 65536.0, -1)
    [recording] = tmp_path.glob("shop/*van/found*.jsonl")
    angle = json.loads(recording.read_text().splitlines()[0])["angle"]
    assert (angle["mode"], angle["counts_per_turn"], angle["wrap"], angle["direction"]) == (
        "encoder", 4096.0, 65536.0, -1,
    )  # fmt: skip


def test_what_no_turn_was_is_said_and_what_is_open_is_asked(tmp_path, monkeypatch):
    async def work(app, crank, ports):
        await at_turn(app, ports)
        await turned(app, crank, 0.0)
        await until(
            lambda: (
                isinstance(app.screen, TurnScreen) and "does not count: turn it again" in words(app, "said")
            )
        )
        crank.since = None
        await asyncio.sleep(1.0)
        await turned(app, crank)
        await typed(app, "many")
        await typed(app, "3300")
        await until(lambda: "did not start anew" in "\n".join(rows(app)))
        await typed(app, "65536")
        await until(lambda: isinstance(app.screen, FindDialScreen) and "3300 counts" in words(app, "said"))

    memory = at_crank(tmp_path, monkeypatch, lambda deg: f"{0x1000 + round(deg / 360 * 3300):04X}\r\n", work)
    profile = load(memory.get("encoder_profile"))
    assert (profile.counts_per_turn, profile.wrap, profile.base) == (3300.0, 65536.0, 16)


def test_an_encoder_that_is_gone_is_said_and_can_be_forgotten(tmp_path, monkeypatch):
    open_job(tmp_path / "shop", "van", {"kit": "5thou"}, Opened(time=now(), title="van"))

    async def work(app, crank, ports):
        app.memory.keep(port=ports[0], dial_unit="mm", encoder="/dev/gone", encoder_profile="encoder-degrees")
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, CautionsScreen))
        await press(app, "space")
        await until(lambda: isinstance(app.screen, JobsScreen) and "/dev/gone" in words(app, "words"))
        await asyncio.sleep(1.0)
        await press(app, "f")
        await until(lambda: isinstance(app.screen, FindDialScreen) and ports[1] in "\n".join(rows(app)))
        await press(app, "e")
        await until(lambda: isinstance(app.screen, QuestionScreen))
        await press(app, "f")
        await until(lambda: isinstance(app.screen, FindDialScreen) and "forgotten" in words(app, "said"))

    assert at_crank(tmp_path, monkeypatch, lambda deg: f"{deg:.1f}\r\n", work).get("encoder") == ""
