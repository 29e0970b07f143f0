"""Facts become sentences where they are shown: in the unit shown, warnings first, notes short."""

import dataclasses
import json
from typing import get_args

import pytest
from making import RECORDINGS

from coaxly.fitter.certainty.further import Way
from coaxly.fitter.result import Kind, Looks, Remark
from coaxly.job.recorded.pipeline import replay
from coaxly.main import main
from coaxly.say.sweep import warnings
from coaxly.say.sweep.warnings import LOOKS, lines, sentence, short

SAMPLE = RECORDINGS / "launch-found.jsonl"
UNSEEN = Remark.note(
    "unseen", stations=8, lobes=[7], drift=True, closed=True, lag=True, on_deg=22.5, allowed_mm=0.01
)


@pytest.fixture(scope="module")
def found():
    return replay(SAMPLE).result()


def test_every_kind_has_a_sentence_and_every_look_its_words():
    assert set(get_args(Kind)) == set(warnings._SENTENCES)
    assert set(get_args(Looks)) == set(LOOKS)


@pytest.mark.parametrize(
    ("unit", "size"), [("thou", "5.0 thou"), ("in", "0.0050 in"), ("mm", "0.127 mm"), ("um", "127 um")]
)
def test_lengths_are_in_the_unit_that_is_shown_and_in_no_other(unit, size):
    step = Remark.warning("step", size_mm=0.127, after_deg=90.0, before_deg=135.0)
    words = sentence(step, unit)
    assert f"by {size} between 3:00 and 4:30, seen from behind" in words and "sweep again" in words
    assert sum(f" {other} " in f"{words} " for other in ("thou", "in", "mm", "um")) == 1


def test_a_fault_is_told_with_how_sure_it_is_where_that_is_known():
    facts = {"size_mm": 0.127, "after_deg": 90.0, "before_deg": 135.0}
    assert "4:30, seen from behind (97.0 % sure): the rig" in sentence(
        Remark.warning("step", **facts, probability=0.97), "thou"
    )
    assert "sure" not in sentence(Remark.warning("step", **facts, probability=None), "thou")
    bad = {"deg": 90.0, "residual_mm": 0.1, "like": "high"}
    assert "was left out (> 99.9 % sure): look" in sentence(
        Remark.warning("bad_station", **bad, probability=1.0), "thou"
    )


@pytest.mark.parametrize(
    ("residual", "like", "words"),
    [
        (
            0.1,
            "high",
            "3.9 thou too high and was left out: look for a burr or dirt. Clean it and read it again",
        ),
        (-0.1, "low", "3.9 thou too low and was left out: the tip may be in a hole or notch. Clean it"),
        (0.1, "unmoved", "3.9 thou too high and was left out: it reads as at the station before, as if"),
        (0.1, "point", "3.9 thou too high and was left out: the decimal point slipped. Read it again"),
    ],
)
def test_a_bad_station_says_what_to_look_for_and_is_cleaned_only_where_that_helps(residual, like, words):
    assert f"at 3:00 seen from behind the dial reads {words}" in sentence(
        Remark.warning("bad_station", deg=90.0, residual_mm=residual, like=like), "thou"
    )


def test_warnings_stand_first_and_loud_and_notes_are_short(found):
    step = Remark.warning("step", size_mm=0.127, after_deg=90.0, before_deg=135.0)
    both = dataclasses.replace(found, remarks=(step, UNSEEN))
    first, second = lines(both, "thou")
    assert first.startswith("! the dial jumped") and second.startswith("note: would not show 7 lobes")
    assert len(second) < 80 and "another turn" not in second


@pytest.mark.parametrize(
    ("way", "full", "brief"),
    [
        ("turn", "another turn the same way", "one more turn"),
        (
            "turn_between",
            "half way between these places, from 12:45 seen",
            "half way between, from 12:45",
        ),
        (
            "turn_back",
            "a turn the other way, from 12:45 seen from behind",
            "a turn the other way, from 12:45",
        ),
        ("closing", "the first place, 12:45 seen from behind, read once more", "12:45 read once more"),
        ("station", "one more station, at 12:45 seen from behind", "one more station, at 12:45"),
    ],
)
def test_where_the_sweep_must_be_made_again_a_note_says_what_would_tell_most(found, way, full, brief):
    further = Remark.note("further", way=way, at_deg=22.5, readings=8, u95_mm=0.01, others=[])
    decision = dataclasses.replace(found.decision, state="unsure")
    unsure = dataclasses.replace(found, remarks=(UNSEEN, further), decision=decision)
    _, said = lines(unsure, "mm")
    assert said.startswith("note: most would be told by ") and full in said
    assert said.endswith(": run-out to about +- 0.020 mm")
    _, said = lines(unsure, "mm", room=False)
    assert said.startswith("note: tells most: ") and brief in said and said.endswith(", to +- 0.020 mm")
    assert len(said) < 80


def test_every_way_of_reading_on_has_its_words():
    assert set(warnings._WAYS) == set(get_args(Way))


def test_a_clean_sweep_looks_like_none_that_is_faulty(found, capsys):
    assert all(remark.level == "note" for remark in found.remarks)
    assert not any(line.startswith("!") for line in lines(found, "thou"))
    main(["replay", str(SAMPLE)])
    assert "!" not in capsys.readouterr().out


def test_shims_and_not_dowels_are_spoken_of_at_a_face():
    for kind, facts in (
        ("not_detected", {"detectable_mm": 0.1}),
        ("form", {"form_mm": 0.1}),
        ("rest", {"swept_mm": 0.2, "fitted_mm": 0.1}),
    ):
        words = sentence(Remark.warning(kind, feature="face", **facts), "mm")
        assert not any(other in words for other in ("dowel", "off-centre", "round"))


def test_json_has_the_facts_and_the_sentences(capsys):
    main(["replay", "--json", "--in", "mm", str(RECORDINGS / "launch-knocked.jsonl")])
    result = json.loads(capsys.readouterr().out)
    step = next(remark for remark in result["remarks"] if remark["kind"] == "step")
    assert step["facts"]["size_mm"] == pytest.approx(result["checks"]["step"]["size"])
    jumped = next(words for words in result["warnings"] if "jumped" in words)
    assert f"{step['facts']['size_mm']:.3f} mm" in jumped
    assert len(result["warnings"]) == len(result["remarks"])


def test_an_arm_that_may_droop_is_told_with_what_it_would_make_and_how_to_find_it():
    remark = Remark.note("sag_unstated", sag_mm=0.0254, run_out_mm=0.14732)
    assert short(remark, "thou") == "an arm that droops by 1.0 thou would make it 5.8 thou"
    words = sentence(remark, "thou")
    assert "run-out 5.8 thou and turn the verdict. Sweep a bar with this arm (--feature sag)" in words
