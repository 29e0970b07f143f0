"""What is drawn large after a proof, and what Space does, where sweeps may be mirrored."""

from dataclasses import replace

import pytest
from making import RECORDINGS
from proofs import among

from coaxly.fitter.dowels.compare import CANNOT_BE_TOLD, Finding
from coaxly.fitter.dowels.explain import Explanation
from coaxly.job.recorded.pipeline import replay
from coaxly.say.job.proofwords import cure, happened, then


def swept(state):
    left = replay(RECORDINGS / "launch-left.jsonl").result()
    return replace(left, decision=replace(left.decision, state=state))


@pytest.mark.parametrize(
    ("causes", "state", "large", "comes"),
    [
        (("found swept the other way",), "outside", "CHOOSE OTHERS", "choose"),
        (("found swept the other way",), "unsure", "SWEEP AGAIN", "again"),
        (("left swept the other way",), "outside", "SWEEP AGAIN", "again"),
        (("both swept the other way",), "outside", "SWEEP AGAIN", "again"),
        (("left swept the other way", "both swept the other way"), "outside", "SWEEP AGAIN", "again"),
        (("mirrored", "both swept the other way"), "outside", "LOOK AT THEM", "again"),
        (("not seated", "one half a turn out"), "outside", "LOOK AT THEM", "again"),
        (("one half a turn out",), "outside", "BOTH TO 4:10", "again"),
        (("180 degrees out", "mirrored"), "outside", "BOTH TO 4:10", "again"),
        (("as planned",), "outside", "CHOOSE OTHERS", "choose"),
        (("as planned", "settled"), "unsure", "SWEEP AGAIN", "again"),
        (("not seated",), "outside", "SEAT IT", "again"),
        (("dowels exchanged",), "outside", "SWAP THEM", "again"),
        (("left swept the other way",), "inside", "LEAVE IT", "on"),
        (("not seated", "one half a turn out"), "inside", "SEAT IT", "on"),
        (("as planned",), "inside", "DONE", "on"),
    ],
)
def test_large_words_and_what_comes_next(causes, state, large, comes):
    finding, left = among(*causes), swept(state)
    assert (cure(finding, left), then(finding, left)) == (large, comes)


@pytest.mark.parametrize(
    ("share", "said"), [(1.0, ""), (0.9951, " (almost certainly)"), (0.9949, " (99 % probable)")]
)
def test_how_probable_it_is(share, said):
    one = Explanation("mirrored", share)
    assert happened(Finding(CANNOT_BE_TOLD, share, (one,))) == said
