"""From the list of jobs through a whole job: sweep as found, choose dowels, fit them, sweep as left, proof."""

import asyncio

import clockwork
import pytest
from clockwork import until
from making import THOU, swept
from screening import press, set_up, words

from coaxly.entry.preferences import TAKE_KEYS, Memory, Preferences
from coaxly.fitter.geometry import polar
from coaxly.job.folder.index import open_job
from coaxly.job.folder.journal import Fitted, Opened, Proof, Shimmed, Sweep, now
from coaxly.job.folder.snapshot import look
from coaxly.job.recorded.pipeline import replay
from coaxly.logger.clock import SessionClock
from coaxly.logger.rig.engine import Engine, Rig
from coaxly.logger.rig.rigport import RigPort
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.flows import work_bench
from coaxly.screens.jobs.jobsscreen import JobsScreen
from coaxly.screens.jobs.planscreen import PlanScreen
from coaxly.screens.jobs.proofscreen import ProofScreen
from coaxly.screens.jobs.reportscreen import ReportScreen
from coaxly.screens.jobs.settingscreen import SettingScreen
from coaxly.screens.small.askscreens import AskScreen, QuestionScreen
from coaxly.screens.small.cautionsscreen import CautionsScreen
from coaxly.screens.sweeping.donescreen import DoneScreen
from coaxly.screens.sweeping.livescreen import LiveScreen
from coaxly.screens.sweeping.setupscreen import SetUpScreen
from coaxly.widgets.textlines import Lines

OFF = polar(7.0 * THOU, 250.0)


class Shop:
    """An engine with a dial on it, and somebody who turns the crank and works the screen. key: that takes a
    station and goes on; Space, or all that a pedal presses."""

    def __init__(self, key="space"):
        self.key = key
        self.clock = SessionClock()
        self.engine = Engine(
            form=((2, 0.4 * THOU, 70.0),), centre=OFF, noise=0.05 * THOU, resolution=0.05 * THOU
        )
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
        await cautions_read(app, self.key)
        await until(lambda: isinstance(app.screen, LiveScreen))
        run = app.screen.run
        if run.pipeline.profile.name == "typed":
            self.type(run)
        else:
            await self.read(app, run)
        await self.finish(app)
        return run

    def type(self, run):
        """Readings as somebody would type them who reads the dial."""
        t = self.clock()
        while (deg := run.next_deg) is not None:
            t = self.rig.turn_to(deg, t) + 1.0
            run.typed(f"{self.rig.reading(t) / 25.4:.5f}")

    async def read(self, app, run):
        """Read every station that is due from the dial on its port."""
        await until(lambda: run.steady)
        at = 0.0
        while (due := run.next_deg) is not None:
            at = due if due >= at else due + 360.0 * ((at - due) // 360.0 + 1)
            arrival = self.rig.turn_to(at, self.clock())
            await until(lambda t=arrival: self.clock() > t + 0.7 and run.steady)
            read = len(run.view().stations)
            await press(app, self.key)
            await until(lambda n=read: len(run.view().stations) > n)

    async def finish(self, app):
        """End the sweep, look at what it came to, and go on."""
        if self.key == "space":
            await press(app, "f")
        else:
            await until(lambda: "Space finishes" in words(app, "prompt"))
            await asyncio.sleep(2.0)
            await press(app, self.key)
        await until(lambda: isinstance(app.screen, DoneScreen) and "sealed" in words(app, "title"))
        screen = app.screen
        await asyncio.sleep(1.0)  # somebody looks at it: keys that follow each other closely are one
        await press(app, self.key)
        await until(lambda: app.screen is not screen)


async def cautions_read(app, key="space"):
    """Before the first sweep of a job they stand in the way."""
    await until(lambda: isinstance(app.screen, LiveScreen | CautionsScreen | SetUpScreen))
    if isinstance(app.screen, CautionsScreen):
        await press(app, key)
        await until(lambda: isinstance(app.screen, SetUpScreen))
    if isinstance(app.screen, SetUpScreen):
        await set_up(app, key)


async def to_set(app, key="space"):
    """What can hurt when dowels are driven stands in the way once a job."""
    await until(lambda: isinstance(app.screen, SettingScreen | CautionsScreen))
    if isinstance(app.screen, CautionsScreen):
        await until(lambda: "Eye protection" in words(app, "text"))
        await press(app, key)
    await until(lambda: isinstance(app.screen, SettingScreen))


async def set_dowels(app):
    """A pedal pressed once too often does not take the page away."""
    await to_set(app)
    await press(app, "space", "space")
    assert isinstance(app.screen, SettingScreen)
    await press(app, "l")


async def at_the_jobs(app):
    """Back at the list, where a key that comes at once is the one before."""
    await until(lambda: isinstance(app.screen, JobsScreen) and words(app, "step"))
    await asyncio.sleep(0.5)


KIT = "5thou,7thou,10thou"


async def more(app, key):
    """What else can be done to a job, by its key."""
    await press(app, "j")
    await until(lambda: isinstance(app.screen, QuestionScreen))
    await press(app, key)


def opened(shop, title="blue van", **details):
    """With fewer stations than usual: a turn of the crank is what a test of a screen waits for."""
    details = {"kit": KIT, "rig": {"stations": 5}, **details}
    return open_job(shop, title, details, Opened(time=now(), title=title))


def whole_job(memory, folder, work, key="space", *, typed=False):
    """The program from its start to its end, with a dial on its port, or one that is read and typed."""

    async def main():
        shop = Shop(key)
        async with RigPort(shop.line, shop.clock) as port:
            memory.keep(port=port.url, dial_unit="in", **({"profile": "typed"} if typed else {}))
            app = CoaxlyApp(
                lambda app: work_bench(app, memory, folder), "thou", Preferences(take_keys=(*TAKE_KEYS, "f7"))
            )
            async with app.run_test(size=(80, 24)):
                await at_the_jobs(app)
                await work(app, shop)
                await at_the_jobs(app)
                await press(app, "q")
                await until(lambda: app._exit)

    clockwork.run(main())


@pytest.fixture
def memory(tmp_path):
    return Memory(tmp_path / "state" / "last.json")


async def to_choose(app):
    """Dowels to choose from, looked at for a while."""
    await until(lambda: isinstance(app.screen, PlanScreen) and "Run-out after" in words(app, "guide"))
    await asyncio.sleep(1.0)


async def found_and_chosen(app, shop):
    """Sweep as found, and take the best pair."""
    await press(app, "enter")
    await shop.sweep(app)
    await to_choose(app)
    option = app.screen.options[0]
    assert option.dowels
    await press(app, "space")
    return option


async def left_and_proved(app, shop, verdict):
    """Sweep as left; the proof follows by itself."""
    await press(app, "enter")
    await shop.sweep(app)
    await until(lambda: isinstance(app.screen, ProofScreen) and words(app, "text"))
    assert app.screen.proven.left.decision.state.upper() == verdict
    await asyncio.sleep(1.0)


def test_a_job_goes_from_the_list_to_its_report_by_one_pedal(tmp_path, memory):
    """One key, but for the one that says that the dowels are in: that is never said by accident."""
    shop_folder, pedal = tmp_path / "shop", "f7"
    job = opened(shop_folder, limit="5thou", limit_source="the maker's data")

    async def work(app, shop):
        assert words(app, "whose").startswith("blue van")
        assert words(app, "step") == "sweep the bore as found"
        await press(app, pedal)
        await until(lambda: isinstance(app.screen, CautionsScreen) and "must not start" in words(app, "text"))
        found = await shop.sweep(app)
        assert found.result.eccentricity.vector == pytest.approx(OFF, abs=0.3 * THOU)
        assert found.result.decision.source == "the maker's data"
        await to_choose(app)
        option = app.screen.options[0]
        await press(app, pedal)
        await to_set(app, pedal)
        await press(app, pedal, pedal)
        await asyncio.sleep(1.0)
        assert isinstance(app.screen, SettingScreen)
        await press(app, "l")
        await at_the_jobs(app)
        assert words(app, "step") == "sweep the bore as left"
        shop.fit(option)
        await press(app, pedal)
        await shop.sweep(app)
        await until(
            lambda: isinstance(app.screen, ProofScreen) and "did what was planned" in words(app, "text")
        )
        await asyncio.sleep(1.0)
        await press(app, pedal)
        await until(lambda: isinstance(app.screen, ReportScreen) and words(app, "path"))
        assert words(app, "path") == str(job.path / "report.html")
        await asyncio.sleep(1.0)
        await press(app, pedal)
        await at_the_jobs(app)
        assert words(app, "step") == "done" and words(app, "whose").endswith("Enter shows it")

    whole_job(memory, shop_folder, work, pedal)
    kinds = [type(record).__name__ for record in look(job).records]
    assert kinds == ["Opened", "Changed", "Sweep", "Chosen", "Fitted", "Sweep", "Proof", "Reported"]
    kept = {path.name: replay(path) for path in job.recordings()}
    assert sorted(kept) == ["found-1.jsonl", "left-1.jsonl"]
    assert kept["found-1.jsonl"].stored.result["decision"]["state"] == "outside"
    assert kept["left-1.jsonl"].stored.result["decision"]["state"] == "inside"
    assert look(job).state.proof.cause == "as planned"


def test_after_every_restart_the_job_goes_on_where_it_stood(tmp_path, memory):
    """The program is ended after each step. In the first round the dowels that were said to be in are not."""
    job = opened(tmp_path)
    rounds = []

    async def begin(app, shop):
        await found_and_chosen(app, shop)
        await to_set(app)
        await press(app, "q")
        await at_the_jobs(app)

    async def set_(app, shop):
        assert words(app, "step").startswith("fit: 2 x 7.0 thou, high sides to ")
        await press(app, "enter")
        await set_dowels(app)

    async def left(app, shop):
        await more(app, "d")  # how they are set is shown again, also once they are in
        await until(lambda: isinstance(app.screen, SettingScreen))
        await press(app, "q")
        await at_the_jobs(app)
        await left_and_proved(app, shop, "OUTSIDE")
        assert "What to do: look at both marks" in words(app, "text")
        assert "see that the dowels are in and the housing sits home" in words(app, "text")
        assert "did what was planned" not in words(app, "text")
        await press(app, "q")

    async def again(app, shop):
        assert words(app, "step").startswith("not proved: look at both marks")
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, ProofScreen) and words(app, "text"))
        await asyncio.sleep(1.0)
        await press(app, "p")
        await to_choose(app)
        rounds.append(app.screen.options[0])
        await press(app, "space")
        await set_dowels(app)

    async def last(app, shop):
        shop.fit(rounds[0])
        await left_and_proved(app, shop, "INSIDE")
        assert "did what was planned" in words(app, "text")
        await press(app, "q")

    for due, work in (
        ("sweep found", begin), ("fit", set_), ("sweep left", left), ("again", again), ("sweep left", last),
    ):  # fmt: skip
        assert look(job).state.next == due
        whole_job(Memory(memory.path), tmp_path, work, typed=True)
    assert look(job).state.next == "report"
    assert [path.name for path in job.recordings()] == ["found-1.jsonl", "left-1.jsonl", "left-2.jsonl"]
    proofs = [record.cause for record in look(job).records if isinstance(record, Proof)]
    assert len(proofs) == 2 and proofs[0] != proofs[1] == "as planned"


def test_a_second_round_is_planned_without_what_is_really_in(tmp_path, memory):
    """Swept with known dowels in (the face was shimmed meanwhile): what they give comes off first."""
    job = opened(tmp_path)
    dowels = ((2 * THOU, 70.0), (2 * THOU, 70.0))
    job.note(Fitted(dowels=dowels))
    job.note(Sweep(file="face-found-1.jsonl", stage="found", feature="face"))
    job.note(Shimmed(shims=((0.0, 0.05),)))
    job.note(Sweep(file="face-left-1.jsonl", stage="left", feature="face"))

    async def work(app, shop):
        shop.rig = Rig(shop.engine.moved(polar(*dowels[0])), turn_deg_s=720.0)
        assert look(job).state.next == "sweep found"
        option = await found_and_chosen(app, shop)
        assert option.dowels[0].offset == pytest.approx(7 * THOU)
        assert option.dowels[0].deg == pytest.approx(70.0, abs=3.0)
        await set_dowels(app)
        await at_the_jobs(app)
        shop.fit(option)
        await left_and_proved(app, shop, "INSIDE")
        assert "did what was planned" in words(app, "text")
        await press(app, "q")

    whole_job(memory, tmp_path, work, typed=True)
    assert look(job).state.proof.cause == "as planned"


async def left_after_one_station(app, *keys):
    """A sweep is begun, read at one station, and left to be gone on with."""
    await press(app, "enter")
    await cautions_read(app)
    await until(lambda: isinstance(app.screen, LiveScreen) and app.screen.run.steady)
    run = app.screen.run
    await press(app, "space")
    await until(lambda: len(run.view().stations) == 1)
    await press(app, *keys, "q")
    await until(lambda: isinstance(app.screen, QuestionScreen))
    await press(app, "s")
    await at_the_jobs(app)


@pytest.mark.parametrize("keys", [(), ("u",)], ids=["read", "taken back"])
def test_what_was_left_off_is_offered_and_gone_on_with_by_the_pedal(tmp_path, memory, keys):
    job = opened(tmp_path)

    async def work(app, shop):
        await left_after_one_station(app, *keys)
        assert "Kept as far as it went" in words(app, "words")
        assert words(app, "step").startswith("sweep the bore as found")
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, QuestionScreen) and "broken off" in words(app, "question"))
        await press(app, "space")
        run = await shop.sweep(app)
        assert run.result is not None and len(run.view().stations) == 6
        await until(lambda: isinstance(app.screen, PlanScreen))
        await press(app, "q")

    whole_job(memory, tmp_path, work)
    assert [path.name for path in job.recordings()] == ["found-1.jsonl"]
    assert look(job).state.next == "choose"


def test_a_sweep_that_was_finished_and_not_noted_is_taken_up(tmp_path, memory):
    """The program ended between the last byte of a recording and its line in the journal."""
    job = opened(tmp_path)
    swept(job.path / "found-1.jsonl", Engine(centre=(0.2, 0.1)), stage="found", job="blue van", created=now())

    async def work(app, shop):
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, PlanScreen))
        await press(app, "q")

    whole_job(memory, tmp_path, work)
    assert look(job).state.found.file == "found-1.jsonl" and look(job).state.next == "choose"


@pytest.mark.parametrize(
    ("details", "says"),
    [
        ({"kit": "5 ells"}, "kit: '5 ells'"),
        ({"rig": {"sag": "2"}}, "rig: sag: "),
        ({"limit": "9"}, "limit: "),
    ],
    ids=["kit", "rig", "limit"],
)
def test_what_is_wrong_in_the_jobs_file_is_said_before_anything_is_swept(tmp_path, memory, details, says):
    job = opened(tmp_path, **details)

    async def work(app, shop):
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, JobsScreen) and says in words(app, "words"))
        assert "job.toml" in words(app, "words")

    whole_job(memory, tmp_path, work)
    assert job.recordings() == []


def test_a_port_that_is_gone_is_said_and_nothing_is_left_behind(tmp_path, memory):
    job = opened(tmp_path, rig={"port": "/dev/no-dial"})

    async def work(app, shop):
        await press(app, "enter")
        await cautions_read(app)
        await until(lambda: isinstance(app.screen, LiveScreen) and "no such port" in words(app, "prompt"))
        await asyncio.sleep(1.0)
        await press(app, "space")
        await until(lambda: isinstance(app.screen, JobsScreen) and "no such port" in words(app, "words"))

    whole_job(memory, tmp_path, work)
    assert job.recordings() == []


async def ask_what_is_in(app):
    await more(app, "i")
    await until(lambda: isinstance(app.screen, AskScreen) and app.focused is not None)


async def say_in(app, dowels):
    """By the keys of a job: these are in."""
    await ask_what_is_in(app)
    app.focused.value = dowels
    await press(app, "enter")


def test_a_sweep_that_would_be_taken_for_another_is_refused(tmp_path, memory):
    job = opened(tmp_path)

    async def work(app, shop):
        await more(app, "l")
        await until(
            lambda: isinstance(app.screen, JobsScreen) and "what was put in: J, I" in words(app, "words")
        )
        assert "coaxly " not in words(app, "words"), "keys at a screen, commands on a command line"
        await say_in(app, "7thou@9o")
        await until(lambda: "9o" in words(app, "question") and app.focused is not None)
        assert app.focused.value == "7thou@9o", "what was typed is there to be mended"
        await press(app, "end", "backspace", "0", "enter")
        await until(lambda: isinstance(app.screen, JobsScreen) and "as left" in words(app, "step"))

    whole_job(memory, tmp_path, work)
    assert look(job).state.fitted.dowels == ((pytest.approx(7 * THOU), 90.0),) * 2


def test_what_was_decided_by_what_is_no_more_is_not_noted(tmp_path, memory):
    job = opened(tmp_path)

    async def work(app, shop):
        await ask_what_is_in(app)
        job.note(Fitted(dowels=((5 * THOU, 60.0),) * 2))  # by a command, meanwhile
        app.focused.value = "7thou@90"
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, JobsScreen) and "meanwhile" in words(app, "words"))
        await say_in(app, "7thou@90")
        await until(lambda: isinstance(app.screen, JobsScreen) and "meanwhile" not in words(app, "words"))

    whole_job(memory, tmp_path, work)
    fitted = [each for each in look(job).records if isinstance(each, Fitted)]
    assert [each.dowels[0][1] for each in fitted] == [60.0, 90.0]


@pytest.mark.parametrize(("key", "counts"), [("y", True), ("n", False), ("escape", None)])
def test_whether_what_was_said_to_be_in_was_a_slip_is_asked_where_a_sweep_hangs_on_it(
    tmp_path, memory, key, counts
):
    job = opened(tmp_path)
    for record in (
        Sweep(file="found-1.jsonl", stage="found"),
        Fitted(),
        Sweep(file="left-1.jsonl", stage="left"),
    ):
        job.note(record)

    async def work(app, shop):
        await say_in(app, "7thou@90")
        await until(lambda: isinstance(app.screen, QuestionScreen))
        assert "left-1.jsonl was swept" in words(app, "question")
        await press(app, key)
        await until(lambda: isinstance(app.screen, JobsScreen))
        await asyncio.sleep(0.5)

    whole_job(memory, tmp_path, work)
    state = look(job).state
    assert bool(state.fitted.dowels) is (counts is not None) and (state.left is not None) is (
        counts is not False
    )


def test_the_screen_asks_again_where_a_sweep_was_left_out_and_a_slip_brings_it_back(tmp_path, memory):
    job = opened(tmp_path)
    for record in (
        Sweep(file="found-1.jsonl", stage="found"),
        Fitted(),
        Sweep(file="left-1.jsonl", stage="left"),
        Fitted(),
    ):
        job.note(record)
    assert look(job).state.left is None

    async def work(app, shop):
        await say_in(app, "7thou@90")
        await until(lambda: isinstance(app.screen, QuestionScreen))
        assert "left-1.jsonl was swept" in words(app, "question")
        await press(app, "y")
        await until(lambda: isinstance(app.screen, JobsScreen))
        await until(lambda: look(job).state.left is not None)

    whole_job(memory, tmp_path, work)
    assert look(job).state.left.file == "left-1.jsonl" and look(job).state.fitted.dowels


def test_the_way_of_the_crank_is_asked_once_and_kept_with_job_and_machine(tmp_path, memory):
    """Anticlockwise, seen from behind: the second place that is called out is on the left."""
    job = opened(tmp_path)

    async def at_set_up(app):
        await until(lambda: isinstance(app.screen, SetUpScreen | CautionsScreen))
        if isinstance(app.screen, CautionsScreen):
            await press(app, "space")
            await until(lambda: isinstance(app.screen, SetUpScreen))
        await asyncio.sleep(1.0)

    async def work(app, shop):
        await press(app, "enter")
        await at_set_up(app)
        await press(app, "a")
        await until(lambda: "ANTICLOCKWISE" in words(app, "turn"))
        for _ in range(2):
            await asyncio.sleep(0.5)
            await press(app, "space")
        await until(lambda: isinstance(app.screen, LiveScreen))
        run = app.screen.run
        setup = run.pipeline.setup
        assert setup.sense == "cw" and setup.internal_deg(run.schedule.due[1].deg) % 360.0 == 288.0
        await press(app, "q")
        await until(lambda: isinstance(app.screen, JobsScreen))
        await asyncio.sleep(0.5)
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, QuestionScreen))
        await press(app, "n")
        await at_set_up(app)
        assert "ANTICLOCKWISE" in words(app, "turn")
        await press(app, "q")

    whole_job(memory, tmp_path, work)
    assert look(job).details.rig == {"stations": 5, "turn": "ccw"} and memory.get("turn") == "ccw"


def test_two_numbers_of_a_plain_dial_work_a_job_on_the_screen(tmp_path, memory):
    job = opened(tmp_path)

    async def say(app, text):
        await until(lambda: isinstance(app.screen, AskScreen) and app.focused is not None)
        app.focused.value = text
        await app.focused.action_submit()

    async def work(app, shop):
        await press(app, "enter")
        await until(lambda: isinstance(app.screen, CautionsScreen))
        await press(app, "space")
        await until(lambda: isinstance(app.screen, SetUpScreen))
        await asyncio.sleep(1.0)
        await press(app, "2")
        await say(app, "9 3:40")
        await until(lambda: "has no unit" in app.screen.query(Lines).first().text)
        assert app.focused.value == "9 3:40", "to be mended, not typed anew"
        await say(app, "9thou")
        await until(lambda: "where did it read highest" in app.screen.query(Lines).first().text)
        await say(app, "14thou 3:40")
        await until(lambda: isinstance(app.screen, DoneScreen) and "two numbers" in words(app, "title"))
        await asyncio.sleep(1.0)
        await press(app, "space")
        await to_choose(app)
        await press(app, "space")
        await set_dowels(app)
        await at_the_jobs(app)
        await more(app, "w")
        await say(app, "1 thou 7:00")
        await until(lambda: isinstance(app.screen, DoneScreen) and "two numbers" in words(app, "title"))
        await asyncio.sleep(1.0)
        await press(app, "space")
        await until(lambda: isinstance(app.screen, ProofScreen))
        assert "did what was planned" in words(app, "text")
        await press(app, "q")

    whole_job(memory, tmp_path, work)
    assert look(job).state.proof.cause == "as planned"
    assert [path.name for path in job.recordings()] == ["found-1.jsonl", "left-1.jsonl"]
