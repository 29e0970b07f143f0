"""The sample recordings replay to the results that they hold."""

import pytest
from closeness import differences, lines_that_differ
from making import RECORDINGS, THOU, samples

from coaxly.job.recorded.pipeline import replay
from coaxly.logger.recording.seals import check_seals

pytestmark = pytest.mark.arithmetic


@pytest.mark.parametrize("path", sorted(RECORDINGS.glob("*.jsonl")), ids=lambda p: p.stem)
def test_a_sample_replays_to_its_stored_result(path):
    pipeline = replay(path)
    assert differences(pipeline.stored.result, pipeline.result().to_dict()) == []


def test_the_samples_can_be_made_anew(tmp_path):
    for made in samples(tmp_path):
        assert lines_that_differ(RECORDINGS / made.name, made) == []
        assert check_seals(made).state == "ok"


def test_a_stored_result_is_told_from_another_one():
    kept = {"a": [1.0, 2], "b": "x", "c": 1e-13}
    assert differences(kept, {"a": [1.0 + 5e-10, 2], "b": "x", "c": -1e-13}) == []
    for made in (
        {"a": [1.0 + 5e-9, 2], "b": "x", "c": 0.0},
        {"a": [1.0, 2], "b": "y", "c": 0.0},
        {"a": [1.0, 3], "b": "x", "c": 0.0},
        {"a": [1.0], "b": "x", "c": 0.0},
        {"a": [1.0, 2], "b": "x"},
        {"a": [1.0, 2], "b": "x", "c": None},
    ):
        assert differences(kept, made)


def test_the_job_went_well():
    found, left = (replay(RECORDINGS / f"launch-{stage}.jsonl").result() for stage in ("found", "left"))
    assert found.decision.state == "outside" and left.decision.state == "inside"
    assert left.tir.fitted < 2.5 * THOU
