"""A sweep of a rig on a pseudo-terminal, worked through operator lines as a script would."""

import asyncio
import json
import os
import pty
import re
import shlex
import subprocess
import sys
import threading
import tty

import clockwork
import pytest
from benching import ENGINE, Bench
from clockwork import until

from coaxly.job.recorded.pipeline import Pipeline, replay
from coaxly.job.sweep.begin import new_header
from coaxly.job.sweep.run import SweepRun
from coaxly.job.sweep.schedule import Plan
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.say.manual import page, topics
from coaxly.say.sweep.sweepwords import told


def work(path, plan, operate):
    async def main():
        bench = Bench(path, plan)
        async with bench.port() as port:
            bench.run.sources = bench.sources(port)
            sweep = asyncio.create_task(bench.run.play())
            await operate(bench)
            await sweep
        return bench.run

    return clockwork.run(main())


async def round_the_stations(bench):
    while (due := bench.run.next_deg) is not None:
        await bench.turn(due)
        bench.run.confirm()
        await bench.run.captured()
    bench.run.finish()


def test_confirmed_stations_give_the_engines_vector_and_the_same_on_replay(tmp_path):
    path = tmp_path / "s.jsonl"
    run = work(path, Plan(8), round_the_stations)
    assert run.result.eccentricity.vector == pytest.approx(ENGINE.centre, abs=0.002)
    assert replay(path).result() == run.result
    assert replay(path).stored.result == json.loads(json.dumps(run.result.to_dict()))


def test_stations_take_themselves_once_the_dial_is_steady(tmp_path):
    async def operate(bench):
        for deg in bench.run.schedule.plan.angles():
            await bench.turn(deg)
            before = len(bench.run.view().stations)
            await until(lambda n=before: len(bench.run.view().stations) > n)
        bench.run.finish()

    run = work(tmp_path / "s.jsonl", Plan(8, auto=True), operate)
    assert run.result.stations == 8
    assert run.result.eccentricity.vector == pytest.approx(ENGINE.centre, abs=0.002)


def test_undo_and_retake(tmp_path):
    async def operate(bench):
        await bench.turn(0)
        bench.run.confirm()
        await bench.run.captured()
        await bench.turn(200)
        bench.run.confirm()
        await bench.run.captured()
        bench.run.undo()
        assert bench.run.next_deg == 45.0
        await round_the_stations(bench)

    run = work(tmp_path / "s.jsonl", Plan(8), operate)
    assert len(run.view().stations) == 9  # the closing reading among them
    assert run.result.eccentricity.vector == pytest.approx(ENGINE.centre, abs=0.002)


def test_a_moving_dial_is_waited_for_and_a_second_press_takes_it_as_it_is(tmp_path):
    async def operate(bench):
        await until(lambda: bench.run.view().reading is not None)
        bench.rig.turn_to(2000.0, bench.clock())
        await until(lambda: not bench.run.steady)
        bench.run.confirm()
        assert "hold still" in told(bench.run.view().news) and bench.run.view().waiting_for_steady
        bench.run.undo()
        assert not bench.run.view().waiting_for_steady
        bench.run.confirm()
        bench.run.confirm()
        await bench.run.captured()
        assert len(bench.run.view().stations) == 1
        bench.run.finish()

    run = work(tmp_path / "s.jsonl", Plan(8), operate)
    assert run.result is None
    assert run.session.writer.path.exists()


def test_a_silent_or_absent_dial_is_said_in_words(tmp_path):
    header = new_header(angle={"mode": "entered"})
    clock = iter([0.0] * 50 + [100.0] * 50)
    run = SweepRun(
        "x", Pipeline(header), RecordingWriter(tmp_path / "s.jsonl", header), lambda: next(clock), Plan()
    )
    run.confirm()
    run.confirm()
    assert "waiting for the first reading" in told(run.view().news) and len(run.view().stations) == 0
    assert run.view().link == "waiting"
    run.stop()


class Dial:
    """An instrument at the far end of a pseudo-terminal, for a sweep in another process."""

    def __init__(self):
        self.ours, self.theirs = pty.openpty()
        for end in (self.ours, self.theirs):
            tty.setraw(end)
        os.set_blocking(self.ours, False)
        self.name = os.ttyname(self.theirs)
        self.value, self._stop = 0.0, threading.Event()
        self._thread = threading.Thread(target=self._speak)
        self._thread.start()

    def _speak(self):
        while not self._stop.wait(0.01):
            try:
                os.write(self.ours, f"{self.value:+.4f}\r\n".encode())
            except BlockingIOError:
                continue

    def close(self):
        self._stop.set()
        self._thread.join()
        os.close(self.ours)
        os.close(self.theirs)


@pytest.fixture
def dial():
    instrument = Dial()
    yield instrument
    instrument.close()


def start_sweep(dial, tmp_path, *extra):
    return subprocess.Popen(
        [sys.executable, "-m", "coaxly", "sweep", "--unit", "mm", "--port", dial.name, "--headless", "--json", "--dwell", "0.1",
         "--out", str(tmp_path / "s.jsonl"), *extra],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def answer(process, line, wanted):
    """Give an operator line and read what is said until `wanted` is."""
    process.stdin.write(line + "\n")
    process.stdin.flush()
    said = []
    for each in process.stderr:
        said.append(each)
        if wanted in each:
            return
    raise AssertionError(f"never said {wanted!r}, but {said}")


def test_operator_lines_on_standard_input(dial, tmp_path):
    process = start_sweep(dial, tmp_path, "--stations", "4", "--no-closing")
    answer(process, "", "12:00 taken")
    dial.value = 0.1
    answer(process, "station 90", "3:00 taken")
    answer(process, "undo", "undone")
    answer(process, "", "3:00 taken")
    answer(process, "station abc", "no angle")
    answer(process, "sing", "not understood")
    dial.value = 0.0
    answer(process, "", "6:00 taken")
    dial.value = -0.1
    answer(process, "", "9:00 taken")
    out, _ = process.communicate("done\n", timeout=30)
    result = json.loads(out)
    assert process.returncode == 1  # outside
    assert result["stations"] == 4
    assert result["eccentricity"]["vector"] == pytest.approx([-0.1, 0.0], abs=1e-9)
    assert result["eccentricity"]["move_clock"] == "3:00"
    assert replay(tmp_path / "s.jsonl").result().to_dict()["tir"] == result["tir"]


def test_end_of_input_ends_the_sweep_with_what_there_is(dial, tmp_path):
    process = start_sweep(dial, tmp_path)
    answer(process, "", "12:00 taken")
    out, err = process.communicate("", timeout=30)
    assert process.returncode == 1 and out == "" and "too few stations" in err.lower()
    assert (tmp_path / "s.jsonl").exists()


PORT = "/dev/serial/by-id/..."
OF_THE_MANUAL = sorted(
    {
        line.strip()
        for name in topics()
        for line in page(name).splitlines()
        if re.match(rf" *coaxly sweep .*--port {PORT} --unit in", line) and "--rig" not in line
    }
)
"""Sweeps by a dial on a port, as the manual writes them in one line."""


@pytest.mark.parametrize("line", OF_THE_MANUAL)
def test_a_sweep_of_the_manual_runs_by_a_dial_on_a_port(dial, tmp_path, monkeypatch, line):
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("COAXLY_SHOP", str(tmp_path / "shop"))
    words = [dial.name if word == PORT else word for word in shlex.split(line)[1:]]
    process = subprocess.Popen(
        [sys.executable, "-m", "coaxly", *words, "--headless", "--json", "--dwell", "0.1", "--stations", "6"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=tmp_path,
    )  # fmt: skip
    for value in (0.0, 0.002, 0.0031, 0.0012, -0.0019, -0.003, 0.0):
        dial.value = value
        answer(process, "", "taken")
    out, _ = process.communicate("done\n", timeout=30)
    assert process.returncode in (0, 1) and json.loads(out)["stations"] == 6
    assert len(list(tmp_path.glob("*.jsonl"))) == 1


def test_the_manual_has_such_sweeps():
    assert len(OF_THE_MANUAL) >= 4


def test_typed_readings_one_a_station(tmp_path):
    lines = "0.000\n0.002\n.004\n-,001\n-.007\n-.010\n-.005\n.001\n"
    done = subprocess.run(
        [sys.executable, "-m", "coaxly", "sweep", "--profile", "typed", "--unit", "in", "--no-closing",
         "--headless", "--json", "--out", str(tmp_path / "t.jsonl")],
        input=lines, capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    result = json.loads(done.stdout)
    assert result["samples"] == 8
    # However fast the lines came: when they were typed says nothing of the dial.
    assert result["tir"]["fitted"] / 25.4 == pytest.approx(0.01166, abs=1e-5)
    typed = [0.0, 0.002, 0.004, -0.001, -0.007, -0.010, -0.005, 0.001]
    stations = replay(tmp_path / "t.jsonl").fitter.stations()
    assert stations.value.tolist() == pytest.approx([25.4 * value for value in typed], abs=1e-12)
    assert stations.deg.tolist() == [45.0 * k for k in range(8)]


def test_a_port_that_is_not_there_leaves_no_file(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "coaxly", "sweep", "--unit", "mm", "--port", "/dev/no-dial", "--headless", "--out",
         str(tmp_path / "s.jsonl")],
        input="", capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert done.returncode == 3 and "no such port" in done.stderr
    assert list(tmp_path.iterdir()) == []
