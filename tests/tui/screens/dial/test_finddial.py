"""Find my dial: ports listened to at once through the real serial path, until one follows the plunger."""

import asyncio
import contextlib
import math

import clockwork
import pytest
from clockwork import until
from screening import press, rows, set_up, words

from coaxly.entry.preferences import Memory, Preferences
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Opened, now
from coaxly.logger.clock import SessionClock
from coaxly.logger.port.serialport import SerialSource
from coaxly.logger.profile import load
from coaxly.logger.rig.rigport import RigPort
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.base import Bench
from coaxly.screens.dial import dialflow
from coaxly.screens.dial.finddialscreen import FindDialScreen
from coaxly.screens.flows import work_bench
from coaxly.screens.jobs.jobsscreen import JobsScreen
from coaxly.screens.small.askscreens import AskScreen, QuestionScreen
from coaxly.screens.small.cautionsscreen import CautionsScreen
from coaxly.screens.sweeping.livescreen import LiveScreen


class Hand:
    """Pushes the plunger once it is told to, and turns the crank."""

    def __init__(self):
        self.clock = SessionClock()
        self.since = self.turned = math.inf
        self.rests = 0.0123

    def reading(self, t):
        return self.rests + (0.2 * math.sin(2.0 * (t - self.since)) if t > self.since else 0.0)

    def angle(self, t):
        return 45.0 + (6.0 * (t - self.turned) if t > self.turned else 0.0)


VOICES = {
    "dial": lambda hand: lambda t: b"<A1> %+.4f ok\r\n" % hand.reading(t),
    "with unit": lambda hand: lambda t: b"%+.4f mm\r\n" % hand.reading(t),
    "pairs": lambda hand: lambda t: b"%05.1f,%+.4f\r\n" % (hand.angle(t), hand.reading(t)),
    "counts": lambda hand: lambda t: b"%d\r\n" % round(hand.reading(t) / 0.005),
    "counter": lambda hand: lambda t: b"%d\r\n" % (1000 * t),
    "noise": lambda hand: lambda t: b"\x80\x9c\x00\xf8",
}


def looking(tmp_path, monkeypatch, voices, work, *, size=(80, 24), extra=(), memory=None):
    """The program with instruments on ports; work(app, hand, ports)."""
    memory = memory or Memory(tmp_path / "state" / "last.json")

    async def main():
        hand = Hand()
        async with contextlib.AsyncExitStack() as stack:
            ports = [
                (await stack.enter_async_context(RigPort(VOICES[voice](hand), hand.clock))).url
                for voice in voices
            ]
            monkeypatch.setattr(dialflow, "_ports_here", lambda: [*ports, *extra])
            app = CoaxlyApp(lambda app: work_bench(app, memory, tmp_path / "shop"), "thou", Preferences())
            async with app.run_test(size=size):
                await until(lambda: isinstance(app.screen, JobsScreen) and words(app, "step"))
                await asyncio.sleep(0.5)
                await work(app, hand, ports)
                if not app._exit:
                    app.exit()

    clockwork.run(main())
    return memory


def text(app):
    return "\n".join(rows(app))


async def pushed(app, hand):
    """Wait until it is asked for, then push."""
    await until(lambda: isinstance(app.screen, FindDialScreen) and "Push the plunger" in words(app, "todo"))
    hand.since = hand.clock()
    await until(lambda: "This one moves" in words(app, "todo"))
    await asyncio.sleep(3.0)  # in and out again


async def confirmed(app, shown="now show"):
    """The display shows what will be kept; then its lines are tried while it is pushed on."""
    await until(lambda: isinstance(app.screen, QuestionScreen) and shown in words(app, "question"))
    await press(app, "y")
    await until(lambda: isinstance(app.screen, AskScreen) or "A last check" in words(app, "todo"))


async def named(app, name):
    await until(lambda: isinstance(app.screen, AskScreen) and app.focused is not None)
    app.focused.value = name
    await press(app, "enter")
    await until(lambda: isinstance(app.screen, JobsScreen) and "dial is known" in words(app, "words"))


def test_of_several_ports_the_one_that_follows_the_plunger_is_kept_under_a_name(tmp_path, monkeypatch):
    async def work(app, hand, ports):
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, FindDialScreen))
        await until(lambda: "no such port" in text(app) and "<A1> +0.0123 ok" in text(app))
        await pushed(app, hand)
        assert app.screen.picked.port == ports[2] and "MOVES" in text(app)
        assert set(app.screen.query_one("#large")._text) <= set("-.0123456789")
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, QuestionScreen) and "unit" in words(app, "question"))
        await press(app, "i")
        await confirmed(app)
        await named(app, "Zoë's dial")
        assert app.screen.query_one("#large")._text == "NEW JOB"
        kept.append(ports[2])

    kept = []
    voices = ["counter", "noise", "dial"]
    memory = looking(tmp_path, monkeypatch, voices, work, extra=["/dev/no-such-dial"])
    path = tmp_path / "shop" / "dials" / "zoes-dial.toml"
    assert (memory.get("port"), memory.get("profile"), memory.get("dial_unit")) == (kept[0], str(path), "in")
    profile = load(str(path))
    assert profile.unit == "in" and profile.regex.fullmatch("<A1> -1.5000 ok")["value"] == "-1.5000"


def test_a_line_that_says_its_unit_is_not_asked_about(tmp_path, monkeypatch):
    async def work(app, hand, ports):
        await press(app, "f")
        await pushed(app, hand)
        await press(app, "space")
        await until(lambda: isinstance(app.screen, QuestionScreen))
        first = words(app, "question")
        await until(lambda: words(app, "question") != first)  # as the dial shows it now
        await confirmed(app, " mm?")
        await named(app, "")

    memory = looking(tmp_path, monkeypatch, ["with unit"], work)
    assert load(memory.get("profile")).says_unit and memory.get("profile").endswith("dials/dial.toml")


def test_where_a_line_may_hold_the_angle_the_crank_is_turned_too(tmp_path, monkeypatch):
    async def work(app, hand, ports):
        await press(app, "f")
        await pushed(app, hand)
        await press(app, "enter")
        await until(lambda: "turn the crank" in words(app, "todo"))
        since, hand.since, hand.turned = hand.since, math.inf, hand.clock()
        await asyncio.sleep(4.0)
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, QuestionScreen))
        await press(app, "m")
        hand.since = since
        await confirmed(app)
        await named(app, "pair")

    memory = looking(tmp_path, monkeypatch, ["pairs"], work)
    assert load(memory.get("profile")).regex.groupindex.keys() >= {"angle", "value"}


def test_what_never_followed_the_plunger_is_not_taken(tmp_path, monkeypatch):
    async def work(app, hand, ports):
        await press(app, "f")
        await until(
            lambda: isinstance(app.screen, FindDialScreen) and "Push the plunger" in words(app, "todo")
        )
        await press(app, "enter")
        await until(lambda: "has followed it yet" in words(app, "todo"))
        await asyncio.sleep(10.0)
        assert isinstance(app.screen, FindDialScreen)
        await press(app, "q")

    assert looking(tmp_path, monkeypatch, ["pairs"], work).get("port") == ""


def test_counts_are_asked_for_by_what_the_display_shows(tmp_path, monkeypatch):
    async def shows(app, hand, mm):
        hand.since, hand.rests = math.inf, mm
        await asyncio.sleep(1.0)
        app.focused.value = f"{mm:.3f}"
        await press(app, "enter")

    async def work(app, hand, ports):
        await press(app, "f")
        await pushed(app, hand)
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, QuestionScreen) and "unit" in words(app, "question"))
        await press(app, "m")
        await until(lambda: isinstance(app.screen, AskScreen) and app.focused is not None)
        await shows(app, hand, 0.5)
        await until(lambda: "A last check" in words(app, "todo") or isinstance(app.screen, AskScreen))
        hand.since = hand.clock()
        await named(app, "counts")

    memory = looking(tmp_path, monkeypatch, ["counts"], work)
    profile = load(memory.get("profile"))
    assert (profile.unit, profile.scale) == ("mm", pytest.approx(0.005))


def test_a_dial_plugged_in_meanwhile_is_heard_and_one_that_is_not_listed_can_be_named(tmp_path, monkeypatch):
    async def work(app, hand, ports):
        there = list(ports)
        monkeypatch.setattr(dialflow, "_ports_here", lambda: there)
        hidden = there.pop()
        there.clear()
        await press(app, "f")
        await until(lambda: isinstance(app.screen, FindDialScreen) and "No serial port" in words(app, "todo"))
        there.append(ports[0])
        await until(lambda: ports[0] in text(app))
        await press(app, "p")
        await until(lambda: isinstance(app.screen, AskScreen) and app.focused is not None)
        app.focused.value = hidden
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, FindDialScreen) and f"> {hidden}" in text(app))
        await press(app, "q")
        await until(lambda: isinstance(app.screen, JobsScreen))

    assert looking(tmp_path, monkeypatch, ["noise", "dial"], work).get("port") == ""


def test_a_port_that_takes_its_time_to_open_is_said_heard_in_the_end_and_stops_no_other(
    tmp_path, monkeypatch
):
    usual, slow = SerialSource.open, []

    async def opened(source):
        if source.url in slow:
            await asyncio.sleep(7.0)
        return await usual(source)

    monkeypatch.setattr(SerialSource, "open", opened)

    async def work(app, hand, ports):
        slow.append(ports[0])
        await press(app, "f")
        await until(lambda: isinstance(app.screen, FindDialScreen) and "takes its time" in text(app))
        assert "+0.0123 mm" in text(app)
        await until(lambda: "+0.0123 ok" in text(app))
        slow.append(ports[1])
        await press(app, "q")
        await until(lambda: isinstance(app.screen, JobsScreen))

    looking(tmp_path, monkeypatch, ["dial", "with unit"], work)


@pytest.mark.parametrize("gone", [True, False], ids=["gone", "there"])
def test_a_dial_that_is_gone_is_looked_for_and_one_that_is_there_is_used(tmp_path, monkeypatch, gone):
    open_job(tmp_path / "shop", "van", {"kit": "5thou"}, Opened(time=now(), title="van"))
    memory = Memory(tmp_path / "state" / "last.json")

    async def work(app, hand, ports):
        memory.keep(port="/dev/gone" if gone else ports[0], dial_unit="in")
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, CautionsScreen))
        await press(app, "space")
        if gone:
            await until(lambda: isinstance(app.screen, FindDialScreen) and "/dev/gone" in words(app, "said"))
        else:
            await set_up(app)
            await until(lambda: isinstance(app.screen, LiveScreen))

    looking(tmp_path, monkeypatch, ["dial"], work, memory=memory)


@pytest.mark.parametrize(
    ("lines", "unit"), [('unit = "in"\n', "in"), ('unit = "mm"\n', "mm"), ("baud = 4800\n", "mm")]
)
def test_what_the_file_of_a_dial_says_of_its_unit_counts_before_what_was_remembered(
    tmp_path, monkeypatch, lines, unit
):
    path = tmp_path / "bench-dial.toml"
    path.write_text(lines)
    memory = Memory(tmp_path / "last.json")
    memory.keep(port="/dev/dial", profile=str(path), dial_unit="mm")
    monkeypatch.setattr(dialflow, "is_there", lambda port: True)
    bench = Bench(CoaxlyApp(None, "thou", Preferences()), memory, tmp_path)
    assert asyncio.run(dialflow.need_dial(bench)).profile.unit == unit
