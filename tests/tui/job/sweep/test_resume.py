"""Going on with recordings that were broken off, at whatever byte, and losing none."""

import io
import shutil

import pytest
from handrun import HandRun

from coaxly.job.recorded.pipeline import replay
from coaxly.job.steps.leftoff import going_on, unfinished
from coaxly.job.sweep.begin import new_header
from coaxly.job.sweep.resume import resume
from coaxly.job.sweep.schedule import Plan
from coaxly.logger.errors import LoggerError
from coaxly.logger.recording.records import Raw
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.main import main


def cut_at(path, size, tmp_path):
    cut = tmp_path / "cut.jsonl"
    cut.write_bytes(path.read_bytes()[:size])
    return cut


def values(stations):
    return stations.deg.tolist(), stations.value.tolist()


def broken_off(tmp_path):
    """A short sweep with everything in it, and its bytes."""
    hand = HandRun(tmp_path / "s.jsonl", Plan(4), dwell_s=0.2)
    hand.connect()
    for k, value in enumerate((0.1, 0.02, -0.1)):
        hand.rest(value, 0.3)
        hand.run.confirm()
        hand.say(value)
        if k == 1:
            hand.run.another_turn()
            hand.run.undo()
            hand.run.confirm()
            hand.rest(value, 0.3)
    hand.run.stop()
    return hand.path


def test_whatever_byte_the_crash_came_at_live_resumed_and_replayed_agree(tmp_path):
    path = broken_off(tmp_path)
    data = path.read_bytes()
    first = data.index(b"\n") + 1
    seen = set()
    ends = [at for at, byte in enumerate(data) if byte == ord("\n")]
    # At the ends of lines each byte counts; within a line one is as good as another.
    sizes = {*range(first - 1, len(data), 7), *(end + k for end in ends for k in (-1, 0, 1, 2))}
    for size in sorted(size for size in sizes if first - 1 <= size <= len(data)):
        cut = cut_at(path, size, tmp_path)
        before = values(replay(cut).fitter.stations())
        run, _, _ = resume(cut)
        live, due = values(run.view().stations), run.schedule.due
        run.stop()
        assert live == before, size
        assert values(replay(cut).fitter.stations()) == live, size
        again, _, _ = resume(cut)
        assert again.schedule.due == due, size
        again.session.writer.close()
        seen.add(len(live[0]))
    assert seen == {0, 1, 2, 3}


def test_a_file_that_ends_in_the_header_is_refused_and_left_alone(tmp_path):
    path = broken_off(tmp_path)
    header = path.read_bytes().index(b"\n")
    for size in (0, 1, header // 2, header - 1):
        cut = cut_at(path, size, tmp_path)
        with pytest.raises(LoggerError):
            resume(cut)
        assert cut.stat().st_size == size


def test_a_port_that_is_not_there_costs_no_recording(tmp_path, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    path = broken_off(tmp_path)
    before = path.read_bytes()
    assert main(["sweep", "--resume", str(path), "--port", "/dev/no-dial", "--headless"]) in (2, 3)
    assert path.read_bytes().startswith(before)


def test_not_even_a_recording_without_a_station(tmp_path):
    hand = HandRun(tmp_path / "s.jsonl", mode="encoder")
    hand.run.note("the only record")
    hand.run.session.writer.close()
    hand.run.discard_if_empty()
    assert hand.path.exists()
    run, _, _ = resume(hand.path)
    run.session.writer.close()
    run.discard_if_empty()
    assert hand.path.exists()


def test_a_sweep_that_never_began_leaves_nothing(tmp_path):
    hand = HandRun(tmp_path / "s.jsonl")
    hand.run.session.writer.close()
    hand.run.discard_if_empty()
    assert not hand.path.exists()


def test_the_unfinished_are_told_from_the_finished(tmp_path):
    path = broken_off(tmp_path)
    assert unfinished(path)
    from making import RECORDINGS

    done = tmp_path / "done.jsonl"
    shutil.copy(RECORDINGS / "launch-found.jsonl", done)
    assert not unfinished(done) and not unfinished(tmp_path / "none.jsonl")


@pytest.mark.parametrize(
    ("said", "options"),
    [
        ({"angle": {"mode": "entered"}}, "--port"),
        ({"angle": {"mode": "combined"}}, "--port"),
        ({"angle": {"mode": "encoder"}}, "--port --encoder"),
        ({"angle": {"mode": "entered", "opposite": {"name": "stream-decimal"}}}, "--port --opposite"),
        ({"instrument": {"name": "typed"}}, ""),
    ],
)
def test_the_command_that_goes_on_names_each_port_that_it_will_ask_for(tmp_path, said, options):
    path = tmp_path / "s.jsonl"
    RecordingWriter(path, new_header(**said)).close()
    ports = "".join(f" {option} PORT" for option in options.split())
    assert going_on(path) == f"coaxly sweep --resume {path}{ports}"


@pytest.mark.parametrize(
    ("readings", "unit"),
    [(("1thou", "2thou"), " --unit thou"), (("1thou", "2mm"), ""), (("1um",), " --unit um"), (("1mm",), "")],
)
def test_the_command_that_goes_on_takes_bare_numbers_in_the_unit_that_all_before_bear(
    tmp_path, readings, unit
):
    path = tmp_path / "s.jsonl"
    with RecordingWriter(path, new_header(instrument={"name": "typed", "unit": ""})) as writer:
        for t, text in enumerate(readings):
            writer.write(Raw(float(t), "indicator", f"{text}\n"))
    assert going_on(path) == f"coaxly sweep{unit} --resume {path}"
