"""Without a screen everything is said that a screen would show, and everything comes to an end."""

import asyncio
import io
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import replace

import clockwork
import pytest
from benching import Wire
from handrun import HandRun

from coaxly.commands.sweep import without_result
from coaxly.errors import FAILURE, FINDING
from coaxly.job.recorded.pipeline import replay
from coaxly.job.sweep.news import Do
from coaxly.logger.angle.source import Source
from coaxly.logger.profile import built_in
from coaxly.logger.recording.records import INDICATOR
from coaxly.plain.plainlines import sweep_in_plain_lines


def swept(tmp_path, monkeypatch, lines, beside):
    hand = HandRun(tmp_path / "s.jsonl")
    hand.clock = hand.run.session.clock = lambda: round(time.monotonic() - start, 6)
    start = time.monotonic()
    wire = Wire(tmp_path / "dial")
    monkeypatch.setattr(sys, "stdin", io.StringIO(lines))

    async def main():
        hand.run.sources = {INDICATOR: (str(tmp_path / "dial"), built_in("stream-decimal"))}
        sweep = asyncio.create_task(sweep_in_plain_lines(hand.run, "thou"))
        world = asyncio.create_task(beside(hand.run, wire))
        async with asyncio.timeout(90):
            await sweep
        world.cancel()

    try:
        clockwork.run(main())
    finally:
        wire.unplug()
    return hand.run


async def silence(run, wire):
    await asyncio.sleep(0)


def test_a_silent_dial_and_the_end_of_input_end_with_a_sentence(tmp_path, monkeypatch, capsys):
    run = swept(tmp_path, monkeypatch, "station 0\n\nundo\ndone\n", silence)
    said = capsys.readouterr().err
    assert run.finished.is_set() and run.result is None
    assert "nothing comes from the dial" in said and "not taken" in said
    # The dial is hardware, and it did not do its part.
    assert without_result(run) == FAILURE and "no reading ever came" in capsys.readouterr().err


def test_a_sweep_that_was_told_to_end_says_how_it_goes_on(tmp_path, capsys):
    hand = HandRun(tmp_path / "a shop.jsonl", profile=replace(built_in("typed"), unit="in"))
    for text in (".001", ".002", ".001"):
        hand.run.typed(text)
        hand.wait(30)
    # There is no dial that could be silent.
    assert not [said for said in hand.said if "dial" in said] and hand.run.task.do is Do.TURN_TO
    hand.run.stop()
    assert without_result(hand.run) == FINDING
    said = capsys.readouterr().err
    assert f"'coaxly sweep --resume '{tmp_path}/a shop.jsonl'' goes on" in said and "too few" not in said


def test_a_sweep_of_a_dial_goes_on_with_the_port_that_it_had(tmp_path, capsys):
    hand = HandRun(tmp_path / "s.jsonl")
    hand.run.sources = {INDICATOR: Source("/dev/ttyUSB3", built_in("stream-decimal"))}
    hand.connect()
    hand.rest(0.1, 0.3)
    hand.run.stop()
    assert without_result(hand.run) == FINDING
    assert f"'coaxly sweep --resume {hand.path} --port /dev/ttyUSB3' goes on" in capsys.readouterr().err


def test_a_dial_that_never_rests_does_not_hold_up_the_end(tmp_path, monkeypatch, capsys):
    async def tremble(run, wire):
        k = 0
        while True:
            k += 1
            wire.say(f"{0.5 * (k % 2):+.4f}\r\n".encode())
            await asyncio.sleep(0.1)

    run = swept(tmp_path, monkeypatch, "station 0\n", tremble)
    assert run.finished.is_set() and "does not come to rest" in capsys.readouterr().err


def test_a_lost_cable_is_said_as_it_happens(tmp_path, monkeypatch, capsys):
    async def pulled(run, wire):
        for _ in range(10):
            wire.say(b"+0.1\r\n")
            await asyncio.sleep(0.1)
        wire.unplug()
        await clockwork.until(lambda: run.view().lost)
        wire.plug()
        await clockwork.until(lambda: not run.view().lost)
        run.finish()

    monkeypatch.setattr("coaxly.plain.plainlines.standard_input", asyncio.Queue)
    swept(tmp_path, monkeypatch, "", pulled)
    said = capsys.readouterr().err
    assert "cable of the dial lost" in said and said.count("dial connected") == 2


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT], ids=str)
def test_told_to_end_it_seals_the_recording(tmp_path, number):
    wire = Wire(tmp_path / "dial")
    process = subprocess.Popen(
        [sys.executable, "-m", "coaxly", "sweep", "--port", str(tmp_path / "dial"), "--unit", "mm",
         "--headless", "--out", str(tmp_path / "s.jsonl")],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        while "dial connected" not in process.stderr.readline():
            assert process.poll() is None
        process.send_signal(number)
        _, err = process.communicate(timeout=30)
    finally:
        process.kill()
        wire.unplug()
    assert process.returncode == 130 and "Traceback" not in err and "Recording:" in err
    assert '"kind":"seal"' in (tmp_path / "s.jsonl").read_text().splitlines()[-1]
    assert len(replay(tmp_path / "s.jsonl").fitter.stations()) == 0


def test_a_folder_that_is_removed_in_mid_sweep_is_noticed(tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    wire = Wire(tmp_path / "dial")
    process = subprocess.Popen(
        [sys.executable, "-m", "coaxly", "sweep", "--port", str(tmp_path / "dial"), "--unit", "mm",
         "--headless", "--out", str(folder / "s.jsonl")],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        while "dial connected" not in process.stderr.readline():
            assert process.poll() is None
        shutil.rmtree(folder)
        end = time.monotonic() + 30
        while process.poll() is None and time.monotonic() < end:
            wire.say(b"+0.1\r\n")
            time.sleep(0.1)
        _, err = process.communicate(timeout=30)
    finally:
        process.kill()
        wire.unplug()
    assert process.returncode == 3, err
    assert "removed meanwhile" in err and "Traceback" not in err
