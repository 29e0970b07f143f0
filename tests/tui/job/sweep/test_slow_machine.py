"""A machine that is busy with something else makes a sweep slower, and nothing else."""

import clockwork
import pytest
from benching import Bench

from coaxly.job.demo.rehearsal import Rehearsal, with_a_hand
from coaxly.job.recorded.pipeline import Pipeline, replay
from coaxly.job.sweep.schedule import Plan
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import FaultNote, Raw, Station

MACHINES = [(0.03, 1, 20.0), (0.2, 7, 20.0), (1.0, 50, 20.0), (0.3, 3, 1.0), (3.0, 60, 1.0)]
"""So many seconds it is stuck, at every how many-th record, at so many times the speed of life."""


@pytest.fixture
def stuck(monkeypatch):
    """Make the machine slow."""

    def make(seconds, every):
        feed, fed = Pipeline.feed, [0]

        def slowly(self, records):
            fed[0] += 1
            if fed[0] % every == 0:
                clockwork.now.jump(seconds)
            feed(self, records)

        monkeypatch.setattr(Pipeline, "feed", slowly)

    return make


def records(path):
    return [record for block in RecordingReader(path).blocks() for record in block]


@pytest.mark.parametrize(("seconds", "every", "speed"), MACHINES)
def test_the_demo_of_a_healthy_engine_shows_no_fault(tmp_path, stuck, seconds, every, speed):
    stuck(seconds, every)
    act = Rehearsal(1, speed, tmp_path / "shop").act("found")
    clockwork.run(act.play())
    assert act.result.stations == 8
    assert not [remark for remark in act.result.remarks if remark.level == "warning"]
    faults = [r.what for r in records(act.session.writer.path) if isinstance(r, FaultNote)]
    assert not [what for what in faults if "first line after connecting" not in what]


def test_a_station_is_read_from_the_dwell_that_was_steady_however_late_it_is_taken(tmp_path, stuck):
    """Of a dial that speaks on while the machine is stuck for longer than a dwell at every reading."""
    bench = Bench(tmp_path / "s.jsonl", Plan(4, closing=False))

    async def main():
        async with bench.port() as port:

            async def hand():
                for k in range(4):
                    await bench.turn(90.0 * k)
                    await clockwork.until(lambda: bench.run.steady)
                    bench.run.confirm()
                    await clockwork.until(lambda k=k: len(bench.run.view().stations) == k + 1)
                bench.run.finish()

            bench.run.sources = bench.sources(port)
            await with_a_hand(bench.run.play(), hand())

    stuck(0.7, 1)
    clockwork.run(main())
    kept = records(tmp_path / "s.jsonl")
    assert "no reading" not in " ".join(r.what for r in kept if isinstance(r, FaultNote))
    assert replay(tmp_path / "s.jsonl").result() == bench.run.result
    came = [r.t for r in kept if isinstance(r, Raw)]
    assert all(r.t in came for r in kept if isinstance(r, Station))
