"""Trouble in mid-sweep, on the real path: nothing measured is lost, nothing wrong is silent."""

import asyncio
import contextlib
import itertools
import math
import os
import resource
import subprocess
import sys
from types import SimpleNamespace

import clockwork
import pytest
from benching import Wire
from carrying import carried
from clockwork import until
from remarking import kinds

from coaxly.errors import UsageError
from coaxly.job.recorded.pipeline import Pipeline, replay
from coaxly.job.sweep.begin import new_header
from coaxly.job.sweep.linestate import LinkState
from coaxly.job.sweep.resume import resume
from coaxly.job.sweep.run import SweepRun
from coaxly.job.sweep.schedule import Plan
from coaxly.logger.clock import SessionClock
from coaxly.logger.errors import RecordingError, WriteError
from coaxly.logger.line.decoder import SETTLE_S
from coaxly.logger.profile import Profile, built_in
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import ENCODER, INDICATOR, FaultNote, Link, Note, Raw
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.report.back import _about
from coaxly.say.sweep.sweepwords import prompt, told
from coaxly.say.sweep.warnings import sentence

DWELL_S = 0.5


async def dwell():
    """Let a dwell go by: what was read before it is no part of the next station."""
    await asyncio.sleep(1.2 * DWELL_S)


def sweep(tmp_path, work, *, mode="entered", clock=None, profile=None, encoder=False, **setup):
    """Run `work(run, wire, ...)` beside a live sweep; returns the run and the records of its file."""
    path = tmp_path / "s.jsonl"
    profile = profile or built_in("stream-decimal")
    header = new_header(
        setup={"dwell_s": DWELL_S, **setup},
        instrument=profile.to_header(),
        angle={"mode": mode, "stations": 4},
    )
    run = SweepRun(
        "x", Pipeline(header), RecordingWriter(path, header), clock or SessionClock(), Plan(4, closing=False)
    )
    wires = {INDICATOR: Wire(tmp_path / "dial")}
    sources = {INDICATOR: (str(tmp_path / "dial"), profile)}
    if encoder:
        wires[ENCODER] = Wire(tmp_path / "encoder")
        sources[ENCODER] = (str(tmp_path / "encoder"), built_in("encoder-degrees"))

    async def main():
        run.sources = sources
        task = asyncio.create_task(run.play())
        await until(lambda: run.view().link != "waiting")
        await asyncio.sleep(2 * SETTLE_S)  # a first line that comes sooner may be cut, and is not used
        try:
            await work(run, *wires.values())
            run.finish()
            await task
        finally:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)

    try:
        clockwork.run(main())
    finally:
        for wire in wires.values():
            wire.unplug()
    return run, records(path)


def records(path):
    return [record for block in RecordingReader(path).blocks() for record in block]


def faults(all_records):
    return " / ".join(record.what for record in all_records if isinstance(record, FaultNote))


async def station(run, wire, value, deg=None):
    """Read a station at a steady value, mm."""
    await station_by_line(run, wire, f"{value:+.4f}".encode(), deg)


async def station_by_line(run, wire, line, deg=None):
    """Read a station while a line comes again and again, each once the one before has arrived: however late a
    busy machine carries them, the dial is not silent."""
    before = len(run.view().stations)
    await dwell()
    while len(run.view().stations) == before:
        if not run.view().waiting_for_steady:
            run.confirm(deg)
        await carried(wire, line + b"\r\n")
        await asyncio.sleep(0.02)


def test_a_pulled_cable_is_a_gap_and_the_sweep_goes_on(tmp_path):
    async def work(run, wire):
        await station(run, wire, 0.1)
        await station(run, wire, 0.0)
        wire.unplug()
        await until(lambda: run.view().link == "lost")
        assert "plug it in again" in prompt(run.view().task)
        await asyncio.sleep(4.0)
        assert told(run.view().news) == "cable of the dial lost"
        wire.plug()
        await until(lambda: run.view().link == "up")
        await station(run, wire, -0.1)
        await station(run, wire, 0.0)

    run, kept = sweep(tmp_path, work)
    assert [r.state for r in kept if isinstance(r, Link)] == ["up", "lost", "up"]
    assert "silent" not in faults(kept)
    assert run.result.stations == 4
    assert run.result.eccentricity.amount == pytest.approx(0.1, abs=1e-6)
    assert replay(tmp_path / "s.jsonl").result() == run.result


def test_garbage_and_half_lines_are_noted_and_measured_around(tmp_path):
    async def work(run, wire):
        for value in (0.1, 0.0, -0.1, 0.0):
            wire.say(b"\xff\xfe#!\r\n+0.\r\n\x00+1")
            await asyncio.sleep(0.02)
            wire.say(b"\r\n")
            await station(run, wire, value)

    run, kept = sweep(tmp_path, work)
    assert "not a reading" in faults(kept)
    assert run.view().faults > 0
    assert "bad_lines" in kinds(run.result)
    assert run.result.eccentricity.amount == pytest.approx(0.1, abs=1e-6)


def test_silence_is_a_state_and_a_note(tmp_path):
    async def work(run, wire):
        wire.say(b"+0.1\r\n")
        await until(lambda: run.view().reading is not None)
        await until(lambda: run.view().link == "silent")
        assert "silent" in told(run.view().news)
        assert prompt(run.view().task) == "dial silent: switch it on, check the cable"
        wire.say(b"+0.1\r\n")
        await until(lambda: run.view().link == "up")

    _, kept = sweep(tmp_path, work)
    assert "the dial is silent" in faults(kept) and "speaks again" in faults(kept)


def test_junk_on_the_line_is_told_in_one_way(tmp_path):
    heard = []

    async def work(run, wire):
        run.listen(lambda news: heard.append(told(news)))
        run.confirm(0.0)
        for _ in range(60):
            wire.say(b"\xff?!")
            await asyncio.sleep(0.1)
        await until(lambda: any("not taken" in said for said in heard))
        assert "no reading: check port" in prompt(run.view().task)

    sweep(tmp_path, work)
    assert any("not taken, what comes is no reading" in said for said in heard)
    assert not any("nothing comes" in said for said in heard)


def test_places_are_called_out_on_the_scale_of_whoever_turns(tmp_path):
    async def work(run, wire):
        assert prompt(run.view().task).startswith("turn to 0 on your scale (12:00 seen from behind)")
        for value, deg in ((0.1, 0.0), (0.0, 90.0)):
            await station(run, wire, value, deg)
        assert "turn to 180 on your scale (6:00 seen" in prompt(run.view().task)
        run.undo()
        assert prompt(run.view().task).startswith("turn to 90 on your scale (9:00 seen from behind)")

    sweep(tmp_path, work, view="front")


@pytest.mark.parametrize(("turned", "asked"), [(False, True), (True, False)])
def test_a_crank_that_was_not_turned_between_two_stations_is_noticed(tmp_path, turned, asked):
    heard = []

    async def work(run, wire):
        run.listen(lambda news: heard.append(told(news)))
        for deg in (0.0, 45.0, 90.0, 135.0, 180.0, 225.0):
            at = deg if turned or deg != 225.0 else 180.0
            await station(run, wire, 0.3 * math.cos(math.radians(at - 100.0)), deg)

    sweep(tmp_path, work)
    assert any("reads as at 6:00 seen from behind: did you turn?" in said for said in heard) is asked


def test_a_unit_that_is_switched_by_the_line_is_converted(tmp_path):
    profile = Profile.from_header({"pattern": r"(?P<value>[+-]?[\d.]+)\s*(?P<unit>mm|in)", "name": "units"})

    async def work(run, wire):
        for deg, text in ((0, b"+0.2540 mm"), (90, b"+0.0000 in"), (180, b"-0.0100 in"), (270, b"0.0 mm")):
            await station_by_line(run, wire, text, float(deg))

    run, _ = sweep(tmp_path, work, profile=profile)
    assert run.result.eccentricity.amount == pytest.approx(0.254, abs=1e-6)


def test_a_unit_that_is_switched_in_silence_is_caught_by_its_jump(tmp_path):
    async def work(run, wire):
        await station(run, wire, 0.8)
        wire.say(b"+20.3200\r\n")
        await until(lambda: "between mm and inch" in told(run.view().news))
        run.confirm(90.0)
        run.confirm(90.0)
        assert "nothing to take" in told(run.view().news)
        wire.say(b"+20.3200\r\n")
        await dwell()
        assert len(run.view().stations) == 1
        assert prompt(run.view().task).startswith("dial switched to mm? Set it back")
        wire.say(b"+0.8\r\n")
        await until(lambda: "jumped back" in told(run.view().news))
        assert prompt(run.view().task).startswith("turn to")

    _, kept = sweep(tmp_path, work)
    assert "jumped by 25.4" in faults(kept)


def test_a_unit_key_that_is_pressed_while_the_crank_turns_has_one_answer(tmp_path):
    """Set back or not, and whatever is pressed: there is no verdict any more, and the advice stays."""
    again, said = "set the dial back, finish, sweep again", []

    async def work(run, wire):
        for deg in range(0, 380, 4):
            value = (1.0 + 0.2 * math.cos(math.radians(deg))) / (25.4 if 120 <= deg < 200 else 1.0)
            if deg == 200:
                run.confirm()
                run.pause()
                assert "paused" in prompt(run.view().task)
                run.pause()
                run.listen(said.append)
            await carried(wire, f"{deg % 360:05.1f},{value:+.5f}\r\n".encode())
            assert (again in prompt(run.view().task)) is (deg >= 120)
            if deg == 120:
                assert "Set it back, and sweep again" in told(run.view().news)
        run.confirm()
        assert [told(news) for news in said] == [
            "the dial was switched between mm and inch. Set it back, and sweep again"
        ]

    run, _ = sweep(tmp_path, work, mode="combined", profile=built_in("angle-and-value"))
    assert run.result.decision.withheld == ("unit_changed",)
    (remark,) = (each for each in run.result.remarks if each.kind == "unit_changed")
    assert "was the unit key pressed? Set the dial to its unit and sweep again" in sentence(remark, "mm")


def test_a_dial_with_a_button_takes_a_station_at_each_press(tmp_path):
    profile = Profile.from_header({"name": "button", "on_demand": True})

    async def work(run, wire):
        assert "press the dial's button" in prompt(run.view().task)
        run.confirm()
        assert "press the dial's own button" in told(run.view().news)
        assert not run.view().waiting_for_steady
        for k, value in enumerate((0.1, 0.0, -0.1, 0.0)):
            await dwell()
            wire.say(f"{value:+.4f}\r\n".encode())
            await until(lambda k=k: len(run.view().stations) == k + 1)

    run, _ = sweep(tmp_path, work, profile=profile)
    assert run.result.stations == 4
    assert run.result.eccentricity.amount == pytest.approx(0.1, abs=1e-9)


def test_a_frozen_dial_is_caught_at_the_third_station(tmp_path):
    async def work(run, wire):
        for _ in range(3):
            await station(run, wire, 0.5)
        assert "on hold" in told(run.view().news)

    _, kept = sweep(tmp_path, work)
    assert "exactly the same" in faults(kept)


def test_a_clock_that_runs_back_is_held_and_noted(tmp_path):
    class Odd:
        t, back = 10.0, 0.0

        def __call__(self):
            self.t += 0.001
            return round(self.t - self.back, 6)

    clock = Odd()

    async def work(run, wire):
        wire.say(b"+0.1\r\n+0.1\r\n")
        await until(lambda: run.view().reading is not None)
        clock.back = 5.0
        wire.say(b"+0.2\r\n")
        await until(lambda: run.view().reading == pytest.approx(0.2))

    _, kept = sweep(tmp_path, work, clock=clock)
    times = [record.t for record in kept]
    assert times == sorted(times)
    assert "clock ran back" in faults(kept)


def test_a_silent_encoder_is_a_state_and_no_angle_is_invented(tmp_path):
    async def work(run, dial, encoder):
        await carried(encoder, b"A 010.0\r\n")
        await carried(dial, b"+0.1\r\n")
        await carried(encoder, b"A 011.0\r\n")
        await until(lambda: run.view().samples == 1)  # this reading lies between two angles
        await asyncio.sleep(0.1)  # one at the very time of an angle would have it
        await until(lambda: run.view().link == "no angle" or dial.say(b"+0.1\r\n"))
        assert "without an angle" in told(run.view().news)
        dial.say(b"+0.1\r\n")
        await asyncio.sleep(10.0)
        assert run.view().samples == 1

    _, kept = sweep(tmp_path, work, mode="encoder", encoder=True)
    assert "encoder is silent" in faults(kept)
    assert sum(isinstance(r, Raw) and r.port == INDICATOR for r in kept) > 5


def test_a_full_disk_stops_the_sweep_in_words_and_keeps_what_was_flushed(tmp_path):
    code = (
        "import sys; from coaxly.main import main\n"
        f"sys.exit(main(['sweep', '--unit', 'mm', '--port', sys.argv[1], '--headless', '--out', {str(tmp_path / 'f.jsonl')!r}]))"
    )
    wire = Wire(tmp_path / "dial")
    process = subprocess.Popen(
        [sys.executable, "-c", code, str(tmp_path / "dial")], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (6000, 6000)),
    )  # fmt: skip
    try:
        os.set_blocking(wire.ours, False)
        while process.poll() is None:
            with contextlib.suppress(BlockingIOError):
                wire.say(b"+0.1234\r\n" * 20)
            try:
                process.wait(0.02)
            except subprocess.TimeoutExpired:
                continue
        _, err = process.communicate(timeout=30)
    finally:
        wire.unplug()
    assert process.returncode == 3
    assert "cannot write" in err and "File too large" in err and "Traceback" not in err
    reader = RecordingReader(tmp_path / "f.jsonl")
    kept = [r for block in reader.blocks() for r in block if isinstance(r, Raw)]
    assert kept and (tmp_path / "f.jsonl").stat().st_size <= 6000


def test_a_folder_that_cannot_be_written_is_said(tmp_path):
    header = new_header()
    with pytest.raises(WriteError, match="No such file or directory"):
        RecordingWriter(tmp_path / "missing" / "s.jsonl", header)
    if os.geteuid() != 0:
        tmp_path.chmod(0o500)
        with pytest.raises(WriteError, match="Permission"):
            RecordingWriter(tmp_path / "s.jsonl", header)


def test_a_second_process_is_kept_out(tmp_path):
    path = tmp_path / "s.jsonl"
    writer = RecordingWriter(path, new_header(angle={"mode": "entered", "stations": 4}))
    code = f"from coaxly.logger.recording.writer import RecordingWriter; from pathlib import Path; RecordingWriter.resume(Path({str(path)!r}))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert "another program is writing this recording" in done.stderr
    with pytest.raises(RecordingError, match="another program"):
        resume(path)
    writer.close()


def test_a_sweep_goes_on_where_it_was_broken_off(tmp_path):
    async def first(run, wire):
        await station(run, wire, 0.1)
        await station(run, wire, 0.0)

    path = tmp_path / "s.jsonl"
    sweep(tmp_path, first)
    lines = path.read_bytes().splitlines(keepends=True)
    stations = [k for k, line in enumerate(lines) if b'"station"' in line]
    path.write_bytes(b"".join(lines[: stations[-1] + 1]) + b'{"t":9,"kind":"ra')
    run, ports, profile = resume(path)
    assert ports == [INDICATOR] and run.next_deg == 180.0 and len(run.view().stations) == 2
    wire = Wire(tmp_path / "dial2")

    async def main():
        run.sources = {INDICATOR: (str(tmp_path / "dial2"), profile)}
        task = asyncio.create_task(run.play())
        await until(lambda: run.view().link != "waiting")
        await station(run, wire, -0.1)
        await station(run, wire, 0.0)
        run.finish()
        await task

    clockwork.run(main())
    wire.unplug()
    assert run.result.stations == 4
    assert run.result.eccentricity.amount == pytest.approx(0.1, abs=1e-6)
    assert replay(path).result() == run.result
    assert any(isinstance(record, Note) and record.text == "resumed" for record in records(path))
    gone_on = replay(path)
    swept = SimpleNamespace(pipeline=gone_on, result=run.result, record=SimpleNamespace(file="s.jsonl"))
    assert gone_on.resumed == 1 and "broken off and taken up again" in _about(swept)
    from coaxly.job.steps.audit import audit

    assert audit(path).state == "ok"
    with pytest.raises(UsageError, match="is finished"):
        resume(path)


@pytest.mark.parametrize("moment", [0.3, 0.62, 0.9])
def test_after_kill_9_everything_older_than_a_second_reads_back(tmp_path, moment):
    from bench.durability import killed

    sent, lost, readable = killed(tmp_path / "k.jsonl", moment)
    assert readable and sent > 20 and lost == 0


def test_resume_without_a_port_says_so(tmp_path, capsys):
    from coaxly.main import main

    path = tmp_path / "s.jsonl"
    RecordingWriter(path, new_header(angle={"mode": "entered", "stations": 4})).close()
    assert main(["sweep", "--resume", str(path), "--headless"]) == 2
    assert "--port is missing" in capsys.readouterr().err


def test_listening_to_a_dial_writes_a_profile_that_works(tmp_path, capsys):
    import json
    import threading

    from coaxly.main import main

    wire, stop = Wire(tmp_path / "dial"), threading.Event()
    os.set_blocking(wire.ours, False)

    def speak():
        for k in itertools.count():
            if stop.wait(0.01):
                return
            with contextlib.suppress(BlockingIOError):
                wire.say(b"+ 1.25%d mm\r\n" % (k % 2))

    speaker = threading.Thread(target=speak)
    speaker.start()
    try:
        out = tmp_path / "dial.toml"
        code = main(["listen", str(tmp_path / "dial"), "--seconds", "0.4", "--out", str(out), "--json"])
        answer = json.loads(capsys.readouterr().out)
        assert code == 0 and answer["examples"][0] in ("1.25 mm", "1.251 mm") and out.exists()
        assert main(["listen", str(tmp_path / "dial"), "--out", str(out)]) == 2
        assert "there already" in capsys.readouterr().err
    finally:
        stop.set()
        speaker.join()
        wire.unplug()
    from coaxly.logger.profile import load

    assert load(str(out)).baud == 9600


def test_listening_to_nothing_says_so(tmp_path, capsys, simulated_time):
    from coaxly.main import main

    wire = Wire(tmp_path / "dial")
    try:
        assert main(["listen", str(tmp_path / "dial"), "--seconds", "0.02", "--baud", "9600"]) == 3
    finally:
        wire.unplug()
    assert "nothing heard" in capsys.readouterr().err


def test_live_it_is_said_recorded_by_kind_and_replayed(tmp_path):
    async def work(run, wire):
        await station(run, wire, 0.1)
        for _ in range(3):
            wire.say(b"OL\r\n")
            await station(run, wire, 0.0)
        assert not run.view().faults

    run, kept = sweep(tmp_path, work)
    assert {r.says for r in kept if isinstance(r, FaultNote) and r.what.startswith("over range")} == {
        "over_range"
    }
    words = " / ".join(sentence(remark, "thou") for remark in run.result.remarks)
    assert "the dial is over its range: it sent 'OL' with 3 lines, which were not used, first at" in words
    assert "another instrument's port" not in faults(kept)
    assert replay(tmp_path / "s.jsonl").result() == run.result


def test_a_press_while_the_dial_sends_no_reading_takes_nothing_later_and_elsewhere(tmp_path):
    async def work(run, wire):
        await station(run, wire, 0.1)
        for line, says in ((b"E-1\r\n", "reports an error"), (b"+99.999\r\n", "over its range")):
            await dwell()
            await carried(wire, line)
            run.confirm(90.0)
            assert not run.view().waiting_for_steady and says in told(run.view().news)
            await dwell()
            for _ in range(12):
                await carried(wire, b"+0.7\r\n")
        await station_by_line(run, wire, b"+0.1", 90.0)

    run, _ = sweep(tmp_path, work)
    assert len(run.pipeline.fitter.stations()) == 2


def test_a_dial_that_only_complains_is_said_to_and_nothing_is_taken(tmp_path):
    async def work(run, wire):
        for value in (0.1, 0.0, -0.1, 0.0):
            await station(run, wire, value)
        await until(lambda: run.view().link is LinkState.COMPLAINS or wire.say(b"+0.1 HOLD\r\n"))
        assert "on hold" in prompt(run.view().task) and "off hold" in told(run.view().news)
        run.confirm(45.0)
        assert not run.view().waiting_for_steady and "on hold" in told(run.view().news)
        await station_by_line(run, wire, b"+0.1", 45.0)
        assert run.view().link is LinkState.UP

    run, kept = sweep(tmp_path, work)
    assert "held" in kinds(run.result) and "another instrument" not in faults(kept)
    assert records(tmp_path / "s.jsonl") == kept
