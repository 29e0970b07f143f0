"""Tapping a housing into place: the order of things, the journal, and the built-in engine."""

import asyncio
import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from bench.nudge import nudged
from commanding import command
from making import RECORDINGS, by_hand
from nudging import aim, reads
from ptyline import line, push
from shopping import lay_in

from coaxly.fitter import Setup
from coaxly.fitter.geometry import polar
from coaxly.fitter.units import MM_PER_INCH
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.job.folder.index import need_job
from coaxly.job.folder.journal import Answer, Fitted, Nudged, Opened, Proof, Sweep
from coaxly.job.folder.progress import state
from coaxly.job.folder.snapshot import look
from coaxly.job.recorded.pipeline import replay
from coaxly.job.steps.nudge import Came, Nudge, Step
from coaxly.job.steps.nudgerun import NudgeRequest, NudgeRun
from coaxly.logger.angle.source import Source
from coaxly.logger.profile import built_in
from coaxly.main import main
from coaxly.say.job.jobwords import next_step

WAS = polar(0.2, 210.0)


class Bench:
    """A nudge, and a housing that goes where the test puts it."""

    def __init__(self, dials=1):
        self.nudge, self.at, self.mean = Nudge(aim(WAS), dials=dials), WAS, 0.8

    def read(self):
        return tuple(
            reads(self.at, self.nudge.deg + 90.0 * k, mean=self.mean) for k in range(self.nudge.dials)
        )

    def takes(self):
        return self.nudge.taken(self.read())


def test_one_dial_goes_round_by_half_and_quarter_turns_until_all_is_right():
    bench = Bench()
    assert bench.nudge.deg == pytest.approx(30.0, abs=0.2) and bench.takes() is Came.TIED
    go = bench.nudge.live(bench.read())
    assert (go.amount, go.towards_deg) == (pytest.approx(0.2, abs=1e-3), pytest.approx(30.0, abs=0.2))
    assert bench.takes() is Came.NOT_YET
    bench.at = polar(0.1, 120.0)  # right along 1 o'clock, off along 4
    assert bench.nudge.live(bench.read()).within
    parked, came = [], [bench.takes()]
    while came[-1] is Came.RIGHT:
        parked.append(round(bench.nudge.deg))
        came.append(bench.takes())
        if came[-1] is Came.NOT_YET:
            go = bench.nudge.live(bench.read())
            assert go.towards_deg == pytest.approx(300.0, abs=0.2)
            bench.at = (0.0, 0.0)
            came[-1] = bench.takes()
    assert parked == [210, 300, 120, 210] and came[-1] is Came.BOTH_RIGHT
    assert bench.takes() is Came.HELD and bench.nudge.step is Step.DONE
    assert max(map(abs, bench.nudge.remaining())) < 0.02 * THOU


def test_bolts_that_draw_it_off_are_told_and_tapped_again():
    bench = Bench(dials=2)
    assert [bench.takes(), bench.takes()] == [Came.SECOND_TIED, Came.TIED]
    bench.at = (0.0, 0.0)
    assert [bench.takes(), bench.takes()] == [Came.RIGHT, Came.BOTH_RIGHT]
    bench.at = (0.5 * THOU, 0.0)
    assert bench.takes() is Came.CREPT and bench.nudge.step is Step.TAP


def test_a_dial_that_reads_otherwise_than_in_the_sweep_is_asked_about():
    bench = Bench()
    bench.mean = 2.5
    assert bench.takes() is Came.MOVED and bench.nudge.step is Step.PARK
    assert bench.takes() is Came.TIED and bench.nudge.shift == pytest.approx(1.7, abs=1e-6)


def test_a_dial_that_drifts_meanwhile_does_not_draw_the_housing_with_it():
    """3 thou of drift: more than is forgiven anywhere, and opposite places know it."""
    bench = Bench()
    bench.takes()
    bench.at, bench.mean = (0.0, 0.0), 0.8 + 3.0 * THOU
    for _ in range(40):
        go = bench.nudge.live(bench.read())
        if bench.nudge.step is Step.TAP and not go.within:
            x, y = polar(go.amount, go.towards_deg)
            bench.at = (bench.at[0] + x, bench.at[1] + y)
        if bench.takes() is Came.HELD:
            break
    assert bench.nudge.step is Step.DONE and math.hypot(*bench.at) < 0.1 * THOU


@pytest.mark.parametrize("dials", [1, 2])
def test_a_tapped_housing_ends_on_the_crank(dials):
    """A smaller run of tests/bench/nudge.py."""
    ends = np.array([nudged(seed, dials)[1] for seed in range(700, 706)])
    assert (ends < 0.5).all()


def test_the_built_in_engine_is_tapped_home_over_its_lines(simulated_time, capsys):
    assert main(["nudge", "--engine", "2", "--second", "any", "--headless", "--json", "--speed", "1"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["nudge"]["held"] and told["left"]["tir"]["fitted"] < 1.2 * THOU
    assert math.hypot(*told["nudge"]["was_off_mm"]) > 4.0 * THOU
    for path in map(Path, told["nudge"]["recordings"]):
        kinds = [json.loads(line)["kind"] for line in path.read_text().splitlines()]
        assert kinds[0] == "header" and "station" in kinds and kinds[-2:] == ["end", "seal"]
    assert len(told["nudge"]["recordings"]) == 2


@pytest.fixture
def van(tmp_path, capsys):
    """A job whose bore was swept as found; its recording was made at engine 1."""
    assert main(["job", "open", "van", "--shop", str(tmp_path)]) == 0
    job = need_job(tmp_path, "van")
    lay_in(job, RECORDINGS / "launch-found.jsonl", "found-1.jsonl")
    assert main(["job", "show", "van", "--shop", str(tmp_path)]) == 0
    capsys.readouterr()
    return job


@pytest.fixture
def shop(van, tmp_path, capsys):
    def run(*words):
        code = main([*words, "--shop", str(tmp_path)])
        return code, *capsys.readouterr()

    return run


def test_a_job_is_nudged_by_plain_lines_and_knows_what_comes_next(van, tmp_path, monkeypatch, capsys):
    bore = replay(van.path / "found-1.jsonl").result().eccentricity
    at = [bore.vector]

    async def life(operator):
        async def speaks():
            while True:
                value = reads(at[0], bore.high_deg, oval=0.0, mean=1.5) / MM_PER_INCH
                push(ours, f"{value:+.5f}\r\n".encode() * 5)
                await asyncio.sleep(0.1)

        speaking = asyncio.create_task(speaks())
        await operator.hears("BOLTS TIGHT")
        await asyncio.sleep(1.0)
        operator.types("")
        await operator.hears("Set anew since?")
        operator.types("")
        await operator.hears("slacken the bolts")
        await operator.hears("thou to go towards")
        at[0] = (0.0, 0.0)
        await operator.hears("STOP")
        operator.types("")
        await operator.hears("on to the next place")
        operator.types("done")
        await asyncio.sleep(60.0)
        speaking.cancel()

    with line() as (ours, url):
        words = ("nudge", "van", "--port", url, "--headless", "--shop", tmp_path)
        code, out, err = command(monkeypatch, capsys, life, *words)
    assert code == 1 and "Left off before it was right" in out and "--stage left" in out, err
    now = look(van).state
    assert now.nudged is not None and not now.nudged.held and now.next == "sweep left"
    assert now.nudged.files == ("nudge-1.jsonl",) and now.nudged.sweep == "found-1.jsonl"


def asked(path, tmp_path, **fields):
    dial = Source("", replace(built_in("stream-decimal"), unit="in"))
    outs = (tmp_path / "nudge.jsonl", tmp_path / "second.jsonl")
    count = 2 if "second" in fields else 1
    return NudgeRequest(swept=replay(path), dial=dial, outs=outs[:count], **fields)


EIGHT = [0.010 * math.cos(math.radians(45 * k - 100)) for k in range(8)]


def test_the_dials_of_a_nudge_sit_as_in_its_sweep_and_are_read_for_a_dwell(tmp_path):
    setup = {"sag_mm": 0.02, "zero_deg": 30.0}
    path = by_hand(tmp_path / "typed.jsonl", EIGHT, setup=setup)
    second = Source("", replace(built_in("stream-decimal"), unit="in"))
    request = asked(path, tmp_path, second=second)
    request.swept.setup = replace(request.swept.setup, dwell_s=1e-6)  # as of typed readings
    run = NudgeRun(request)
    first, other = (each.pipeline.setup for each in run.runs)
    assert (first.dwell_s, first.sag_mm, first.zero_deg) == (0.5, 0.02, 30.0)
    assert other.zero_deg == 120.0  # a quarter turn on
    run.stop()


@pytest.mark.parametrize(
    ("setup", "shown"),
    [({}, False), ({"zero_deg": 360.0}, False), ({"zero_deg": 30.0}, True), ({"sense": "ccw"}, True)],
)
def test_where_the_crank_is_parked_is_said_on_the_operators_scale_too_where_that_is_another(
    setup, shown, tmp_path
):
    run = NudgeRun(asked(by_hand(tmp_path / "typed.jsonl", EIGHT, setup=setup), tmp_path))
    own = Setup.from_header(setup)
    assert own.internal_deg(run.entered_deg) % 360.0 == pytest.approx(run.nudge.deg % 360.0)
    assert run.view().scale_deg == (run.entered_deg if shown else None)
    run.stop()


def test_stop_is_no_finer_than_the_steps_of_the_dial(tmp_path):
    path = by_hand(tmp_path / "coarse.jsonl", EIGHT, setup={"resolution_mm": 0.0127})
    run = NudgeRun(asked(path, tmp_path))
    assert run.nudge.tolerance == pytest.approx(0.3 * THOU)
    run.stop()


def test_only_a_housing_without_dowels_that_was_swept_as_it_stands_is_tapped(van, shop):
    for words, said in (
        (("job", "fitted", "van", "5thou@122"), "dowels are in"),
        (("job", "fitted", "van", "none"), "sweep the bore first as the housing stands now"),
    ):
        assert shop(*words)[0] == 0
        code, out, err = shop("nudge", "van", "--port", "/dev/null", "--headless")
        assert code == 2 and out == "" and said in err


@pytest.mark.parametrize(
    ("recording", "said"), [("face", "needs one of a bore"), ("true", "nothing off-centre")]
)
def test_what_cannot_be_tapped_away_is_refused(recording, said, tmp_path, capsys):
    true = by_hand(tmp_path / "true.jsonl", [0.003, 0.0, -0.003, 0.0002, 0.0028, 0.0, -0.003, 0.0])
    path = str(RECORDINGS / "launch-face.jsonl" if recording == "face" else true)
    code = main(["nudge", path, "--port", "/dev/null", "--headless"])
    out, err = capsys.readouterr()
    assert code == 2 and out == "" and said in err and err.count("\n") == 1


def test_after_tapping_the_check_sweep_is_due_and_outside_it_is_tapped_again():
    def swept(file, stage, state):
        return Sweep(file=file, stage=stage, answer=Answer(0.2, 0.01, 0.127, state))

    records = [Opened(title="van"), swept("found-1.jsonl", "found", "outside")]
    assert state(records).next == "choose"
    records.append(Nudged(sweep="found-1.jsonl", held=True))
    assert state(records).next == "sweep left"
    records.append(swept("left-1.jsonl", "left", "outside"))
    records.append(
        Proof(found="found-1.jsonl", left="left-1.jsonl", cause="shifted", probability=1.0, state="outside")
    )
    assert state(records).next == "again" and "nudge it again" in next_step(state(records), "thou")
    records.append(Nudged(sweep="left-1.jsonl", held=True))
    assert state(records).next == "sweep left" and state(records).left is None
    records.append(Fitted(dowels=((0.1, 20.0),) * 2))
    assert state(records).nudged is None
