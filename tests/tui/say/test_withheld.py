"""Why there is no verdict, in words for whoever stands two metres away."""

from dataclasses import replace

import pytest
from making import RECORDINGS

from coaxly.fitter.result import FORBIDS, Decision, Remark
from coaxly.job.recorded.pipeline import replay
from coaxly.say.sweep.findings import verdict
from coaxly.say.sweep.noverdict import advised, first, large_word, state_of, withheld_words
from coaxly.say.sweep.warnings import lines, sentence

FACTS = {
    "swing_mm": 0.01, "unit": "mm", "places": 5, "reads_mm": 2.7 * 0.0254, "lowest": False, "stations": 9,
    "after_deg": 135.0, "before_deg": 180.0, "smaller": True, "why": "factor", "factor": 0.15, "left_mm": 0.1,
    "stations_deg": [90.0], "said": ["held"], "size_mm": 0.2, "file": "face-1.jsonl", "feature": "face",
}  # fmt: skip


@pytest.mark.parametrize("kind", FORBIDS)
def test_every_doubt_has_its_words_and_says_what_to_do(kind):
    decision = Decision(0.127, "unsure", 0.99, withheld=(kind,))
    assert state_of(decision) == "withheld" and 0 < len(large_word(decision.withheld)) <= 11
    assert withheld_words([kind]).isupper() and first([kind]).startswith("before ")
    said = sentence(Remark.warning(kind, **FACTS), "thou")
    assert "unit" in kind or kind == "too_large" or said.endswith(f"--sure {kind.replace('_', '-')}")
    assert "sweep" in said or "unit right" in said
    sure = sentence(Remark.note(kind, **FACTS, sure=True), "thou")
    assert sure.startswith("somebody made sure that all is well, although ") and "--sure" not in sure


def test_what_is_not_excluded_is_told_with_its_chance():
    said = sentence(Remark.note("tip_off", **FACTS, chance=0.151), "thou")
    assert said.startswith("perhaps, 15 %: the dial read the same")


def test_the_same_is_said_of_what_is_the_same():
    for kind in ("tip_off", "held_dial"):
        for within, said in ((0.0, "read the same 2.7 thou"), (0.0051, "read 2.7 thou within 0.2 thou")):
            assert said in sentence(Remark.warning(kind, **FACTS, within_mm=within), "thou")


@pytest.mark.parametrize(("inside", "state"), [(0.74, "unsure"), (0.99, "inside"), (0.001, "outside")])
def test_what_is_not_excluded_is_told_as_a_guess_and_only_where_there_is_no_verdict(inside, state):
    result = replay(RECORDINGS / "launch-left.jsonl").result()
    notes = (Remark.note("tip_off", **FACTS, chance=0.02), Remark.note("held_dial", **FACTS, sure=True))
    judged = replace(result, decision=Decision(0.127, state, inside), remarks=notes)
    for room in (True, False):
        said = lines(judged, "thou", room=room)
        assert sum("note: perhaps, 2 %: " in each for each in said) == (state == "unsure")
        assert said[-1].startswith("note: somebody made sure")


@pytest.mark.parametrize(("inside", "named"), [(0.74, True), (0.6, False)])
def test_what_alone_keeps_a_verdict_back_is_named_in_its_line(inside, named):
    result = replay(RECORDINGS / "launch-left.jsonl").result()
    note = Remark.note("tip_off", **FACTS, chance=0.25)
    decision = Decision(0.127, "unsure", inside)
    said = verdict(replace(result, decision=decision, remarks=(note,)), "thou")
    assert said.startswith("TOO CLOSE TO CALL by the limit of 5.0 thou run-out: ") and "sweep again (" in said
    assert ("perhaps TIP OFF OR PLUNGER AT ITS STOP, make sure and sweep" in said) is named


def test_where_nothing_is_withheld_nothing_is_said():
    decision = Decision(0.127, "inside", 0.99)
    assert (state_of(decision), large_word(decision.withheld), withheld_words(())) == ("inside", "", "")
    assert withheld_words(["of_a_later_version"]) == "OF A LATER VERSION"


def test_what_was_seen_of_a_tip_that_is_off():
    said = sentence(Remark.warning("tip_off", **FACTS), "thou")
    assert "the same 2.7 thou at 5 neighbouring places, its highest" in said
    assert "its lowest: the tip is off the bore" in sentence(
        Remark.warning("tip_off", **FACTS | {"lowest": True}), "mm"
    )


@pytest.mark.parametrize(("why", "words"), [("factor", "0.15 times"), ("jump", "wrap"), ("unlike", "slip")])
def test_an_angle_is_suspected_by_what_it_does(why, words):
    assert words in sentence(Remark.warning("wrong_angle", why=why, factor=0.15, left_mm=0.1), "thou")


def test_dowels_of_a_sweep_in_doubt_are_not_to_go_by():
    said = advised([Remark.warning("held_dial", **FACTS), Remark.warning("no_size_in_kit")], "thou")
    assert said[0].startswith("fit nothing by this sweep before the dial is live") and "no pair" in said[1]
    assert advised([], "thou") == []
