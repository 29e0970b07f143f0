"""Recordings of one housing put together by `coaxly.pipeline.together`."""

import json

from making import THOU
from remarking import facts, kinds

from coaxly.job.recorded.pipeline import replay, together
from coaxly.say.sweep.warnings import sentences

EIGHT = [0, 0.002, 0.004, -0.001, -0.007, -0.010, -0.005, 0.001]


def test_lines_that_could_not_be_used_are_still_counted(recording):
    good, bad = recording(EIGHT), recording(EIGHT)
    line = json.dumps({"t": 8.5, "kind": "raw", "port": "indicator", "data": "?!rubbish\r\n"})
    bad.write_text(bad.read_text() + line + "\n")
    assert facts(replay(bad).result(), "bad_lines")["count"] == 1
    both = together([replay(good), replay(bad)])
    assert facts(both, "bad_lines") == {**facts(replay(bad).result(), "bad_lines"), "recording": 2, "of": 2}
    assert any(w.startswith("recording 2 of 2: 1 line was not usable") for w in sentences(both, "thou"))


def test_of_different_limits_the_strictest_counts_and_is_said(recording):
    loose = recording(EIGHT, setup={"limit_mm": 13 * THOU})
    strict = recording(EIGHT, setup={"limit_mm": 5 * THOU})
    for order in ((loose, strict), (strict, loose)):
        result = together([replay(path) for path in order])
        assert result.decision.limit == 5 * THOU and result.decision.state == "outside"
        assert facts(result, "limits_differ")["limits_mm"] == [5 * THOU, 13 * THOU]
    assert "limits_differ" not in kinds(together([replay(strict), replay(strict)]))
