"""A withheld verdict that somebody made sure of: the same readings, in a recording that says so."""

import pytest
from making import by_hand

from coaxly.fitter.withheld import doubted
from coaxly.job.recorded.pipeline import replay
from coaxly.job.steps.audit import audit
from coaxly.job.steps.jobsteps import vouch
from coaxly.logger.errors import LoggerError

OFF = [2.7, 0.7, 0, 0, 0, 0, 2.1, 3.3, 2.7]


def test_the_new_recording_has_the_verdict_and_the_old_one_stays(tmp_path):
    old = by_hand(tmp_path / "found-1.jsonl", [v / 1000 for v in OFF], [45.0 * k for k in range(9)])
    before = old.read_bytes()
    new = tmp_path / "found-2.jsonl"
    vouched = vouch(old, new)
    assert replay(old).result().decision.withheld == ("tip_off",) and old.read_bytes() == before
    again = replay(new).result()
    assert again == vouched.result() and again.decision.state == "inside" and not doubted(again)
    assert audit(new).state == "ok" and "made sure of, from found-1.jsonl" in new.read_text()
    doubtful = replay(old).result().eccentricity
    assert again.eccentricity.vector == doubtful.vector
    assert again.eccentricity.u95_amount < 0.2 * doubtful.u95_amount


def test_nothing_is_written_over(tmp_path):
    old = by_hand(tmp_path / "found-1.jsonl", [v / 1000 for v in OFF], [45.0 * k for k in range(9)])
    with pytest.raises(LoggerError):
        vouch(old, old)
