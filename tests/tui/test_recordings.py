"""The sample recordings replay to the results that they hold."""

import json

import pytest
from making import RECORDINGS, THOU, samples

from tui.pipeline import replay


@pytest.mark.parametrize("path", sorted(RECORDINGS.glob("*.jsonl")), ids=lambda p: p.stem)
def test_a_sample_replays_to_its_stored_result(path):
    pipeline = replay(path)
    result = json.loads(json.dumps(pipeline.result().to_dict()))
    assert close(result, pipeline.stored_result)


def close(a, b):
    """Equal, up to rounding between machines in the numbers."""
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(close(a[k], b[k]) for k in a)
    if isinstance(a, list):
        return len(a) == len(b) and all(close(x, y) for x, y in zip(a, b, strict=True))
    return a == (pytest.approx(b, rel=1e-9, abs=1e-12) if isinstance(a, float) else b)


def test_the_samples_can_be_made_anew(tmp_path):
    for made in samples(tmp_path):
        assert made.read_bytes() == (RECORDINGS / made.name).read_bytes()


def test_the_job_went_well():
    found, left = (replay(RECORDINGS / f"launch-{stage}.jsonl").result() for stage in ("found", "left"))
    assert found.decision.state == "outside" and left.decision.state == "inside"
    assert left.tir.fitted < 2.5 * THOU
