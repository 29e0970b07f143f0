"""What spoils a sweep of a face, on a screen that has no room for more."""

from dataclasses import replace

from making import RECORDINGS

from coaxly.job.recorded.pipeline import replay
from coaxly.say.sweep import warnings
from coaxly.say.sweep.finished import spoils


def test_notes_stay_short_also_where_the_sweep_must_be_made_again():
    result = replay(RECORDINGS / "launch-found.jsonl").result()
    unsure = replace(result, decision=replace(result.decision, state="unsure"))
    said = spoils(unsure, "thou")
    assert said == warnings.lines(result, "thou", room=False)
    assert len(" ".join(said)) < len(" ".join(warnings.lines(unsure, "thou")))
