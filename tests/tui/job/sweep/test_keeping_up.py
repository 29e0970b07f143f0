"""A sweep whose readings come faster than they can be taken in: said, recorded, and never made up."""

import asyncio
import json

import clockwork
import numpy as np
from ptyline import line, push

from coaxly.job.recorded.pipeline import Pipeline, replay
from coaxly.job.sweep.begin import new_header
from coaxly.job.sweep.run import SweepRun
from coaxly.job.sweep.schedule import Plan
from coaxly.logger.clock import SessionClock
from coaxly.logger.port.arrivals import Arrivals
from coaxly.logger.profile import built_in
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import INDICATOR
from coaxly.logger.recording.session import Session
from coaxly.logger.recording.writer import RecordingWriter
from coaxly.say.sweep.sweepwords import told

LINE = b"11.25\r\n"


def header(**angle):
    return new_header(instrument={**built_in("stream-decimal").to_header(), "unit": "mm"}, angle=angle)


def test_what_is_lost_is_said_and_recorded_and_no_reading_is_glued_together(tmp_path):
    path = tmp_path / "s.jsonl"

    async def main():
        head = header(mode="entered", stations=4)
        run = SweepRun("x", Pipeline(head), RecordingWriter(path, head), SessionClock(), Plan(4))
        run._intake.arrivals = Arrivals(run.session.clock, capacity=1000)
        values = []
        plain = run.pipeline.heard
        run.pipeline.heard = lambda block: (values.extend(block.value.tolist()), plain(block))
        said = []
        run.listen(lambda news: said.append(told(news)))
        with line() as (ours, name):
            run.sources = {INDICATOR: (name, built_in("stream-decimal"))}
            sweeping = asyncio.create_task(run.play())
            await clockwork.until(lambda: run.view().link == "up")
            await asyncio.sleep(0.5)
            push(ours, LINE * 40_000)  # the loop is not given its turn: what the queue cannot hold is lost
            await clockwork.until(lambda: any("faster than they could be taken in" in text for text in said))
            before = len(values)
            # What is still in the way of a busy machine may cost more of them.
            await clockwork.until(lambda: (push(ours, LINE * 10), len(values) > before)[-1])
            run.finish()
            await sweeping
        return values

    values = clockwork.run(main())
    assert set(values) == {11.25}
    records = [json.loads(text) for text in path.read_text().splitlines()]
    missing = [r for r in records if r.get("kind") == "fault" and "faster than" in r["what"]]
    assert missing and missing[0]["port"] == INDICATOR
    times = [record["t"] for record in records if "t" in record]
    assert times == sorted(times)
    again = []
    pipeline = Pipeline(header(mode="entered"))
    pipeline.heard = lambda block: again.extend(block.value.tolist())
    for block in RecordingReader(path).blocks():
        pipeline.feed(block)
    assert np.array_equal(again, values)
    assert replay(path).fault_count == 0


def test_a_chunk_keeps_its_time_of_arrival_but_times_in_the_file_never_fall(tmp_path):
    shown = [0.0]
    path = tmp_path / "t.jsonl"
    with RecordingWriter(path, header(mode="entered")) as writer:
        session = Session(writer, lambda: shown[0], lambda record: None)
        shown[0] = 5.0
        session.raw(INDICATOR, b"1.0\r\n", 4.0)
        session.station(0.0)
        shown[0] = 6.0
        session.raw(INDICATOR, b"2.0\r\n", 4.5)
        session.raw(INDICATOR, b"3.0\r\n", 5.5)
    records = [json.loads(text) for text in path.read_text().splitlines()]
    assert [r["t"] for r in records if r["kind"] in ("raw", "station")] == [4.0, 5.0, 5.0, 5.5]
    assert not [r for r in records if r["kind"] == "fault"]


def test_after_the_clock_jumped_back_chunks_go_on_in_time(tmp_path):
    shown = [10.0]
    path = tmp_path / "t.jsonl"
    with RecordingWriter(path, header(mode="entered")) as writer:
        session = Session(writer, lambda: shown[0], lambda record: None)
        for before, arrived in ((10.0, 9.9), (6.0, 6.0), (7.0, 6.5), (8.0, 9.9)):
            shown[0] = before
            session.raw(INDICATOR, b"1.0\r\n", arrived)
    records = [json.loads(text) for text in path.read_text().splitlines()]
    # The last waited through the jump: it cannot have come later than now.
    assert [r["t"] for r in records if r["kind"] == "raw"] == [10.0, 10.0, 10.5, 12.0]
    assert sum(r["kind"] == "fault" for r in records) == 1


def turning(k):
    """A line a millisecond of a crank that takes a second for a turn."""
    rad = 2.0 * np.pi * k / 1000.0
    return f"{0.36 * k:.2f},{0.1 * np.cos(rad) + 0.02 * np.cos(2.0 * rad):.4f}\r\n".encode()


def swept(path, mode, lines, looked_at=0):
    """How often records were counted, and the samples and the estimate that came of them live. looked_at: a
    line after which a screen looks at the sweep, at once."""
    profile = built_in("angle-and-value" if mode == "combined" else "stream-decimal")
    head = new_header(instrument={**profile.to_header(), "unit": "mm"}, angle={"mode": mode})

    async def main():
        run = SweepRun("x", Pipeline(head), RecordingWriter(path, head), SessionClock(), Plan())
        arrivals, feed, counted = run._intake.arrivals, run.pipeline.feed, []
        run.pipeline.feed = lambda records: (counted.append(len(records)), feed(records))
        inlet = arrivals.inlet(
            lambda data: run._keeper.guard(lambda: run.session.raw(INDICATOR, data, arrivals.at)), print
        )
        for k, data in enumerate(lines, 1):
            inlet.put(data)
            if k == looked_at:
                assert run.pipeline.fitter.samples < k == run.view().samples
            await asyncio.sleep(0.001)
        run.finish()
        return counted, run.pipeline.fitter.samples, run.finding

    return clockwork.run(main())


def test_lines_that_need_no_answer_are_counted_together_and_come_to_the_same_as_replayed(tmp_path):
    path = tmp_path / "s.jsonl"
    counted, samples, finding = swept(path, "combined", map(turning, range(1500)))
    assert samples == sum(counted) == 1500
    assert max(counted) <= 21 and len(counted) < 1500 / 10
    assert replay(path).finding() == finding
    with RecordingReader(path) as reader:
        times = [record.t for block in reader.blocks() for record in block if hasattr(record, "data")]
    assert len(times) == 1500 and np.diff(times).max() < 0.0011  # each has its own


def test_who_looks_sees_what_was_to_be_counted_with_more(tmp_path):
    _, samples, _ = swept(tmp_path / "s.jsonl", "combined", map(turning, range(1500)), looked_at=1010)
    assert samples == 1500


def test_where_stations_are_taken_each_reading_is_counted_by_itself(tmp_path):
    counted, *_ = swept(tmp_path / "s.jsonl", "entered", [LINE] * 50)
    assert counted == [1] * 50
