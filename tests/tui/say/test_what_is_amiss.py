"""What is wrong with a sweep, a dial, a folder or a limit: what was seen, and what to do about it."""

from pathlib import Path
from types import SimpleNamespace
from typing import get_args

import pytest

from coaxly.fitter.dowels.limits import Limit
from coaxly.fitter.result import FORBIDS, Remark
from coaxly.job.folder.journal import Sweep
from coaxly.job.folder.kept import Kept
from coaxly.job.folder.sworn import Edited, Ruling
from coaxly.job.steps.noting import Reason, Stranger
from coaxly.logger.marks import MARKS
from coaxly.say.job import amiss
from coaxly.say.sweep import doubtful, markwords
from coaxly.say.sweep.warnings import sentence

JOB = SimpleNamespace(called="2026-11-25-van")
"""As much of a job as sentences need."""


@pytest.mark.parametrize("why", get_args(Reason))
def test_a_stranger_is_named_with_its_reason_and_what_to_do(why):
    said = amiss.stranger_sentence(Stranger(Path("a b.jsonl"), why, "what"), JOB)
    reason = amiss.why_strange(why, "what")
    assert said.startswith(f"a b.jsonl is not gone by: {reason}; ") and "{" not in said
    taken = "coaxly job take 2026-11-25-van 'a b.jsonl'" in said
    assert taken is (why in ("job", "journal", "stage", "late", "unsealed", "no_result"))
    assert ("--stage" in said) is (why == "stage") and said.endswith("--anyway") is (why == "job")


def test_a_recording_that_names_no_job_is_taken_without_a_word_more():
    said = amiss.stranger_sentence(Stranger(Path("x.jsonl"), "job", ""), JOB)
    assert said == (
        "x.jsonl is not gone by: it names no job; if it belongs: coaxly job take 2026-11-25-van x.jsonl"
    )


@pytest.mark.parametrize(
    ("why", "job", "words"),
    [
        ("job", "red boat", "f.jsonl was made for another job, 'red boat', and taken in by hand"),
        ("job", "", "f.jsonl was taken in by hand"),
        ("late", "red boat", "f.jsonl was taken in by hand"),
    ],
)
def test_what_was_taken_in_by_hand_says_whose_it_was(why, job, words):
    record = Sweep(time="2026-01-01T00:00:00Z", file="f.jsonl", stage="found", taken=why)
    assert amiss.taken_sentence(record, job) == words


def test_files_of_a_job_that_are_not_as_noted_are_told_one_by_one():
    said = amiss.kept_sentences(Kept(("a", "b"), ("c",), ("d",), ("e",)))
    assert [each.partition(": ")[0] for each in said] == ["a", "b", "c", "e", "d"]
    assert "put it back" in said[0] and said[0].partition(": ")[2] == said[1].partition(": ")[2]
    assert "put that back" in said[2] and "keep the better" in said[3] and "its bytes are others" in said[4]
    assert amiss.kept_sentences(Kept()) == []


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (Edited("limit_source", "the maker", "me"), "whose limit it is is 'me' now, the journal says 'the maker'"),
        (Edited("notes", "a" * 90 + "b", "a" * 90 + "c" * 60),
         f"notes is '…{'a' * 30}{'c' * 30}…' now, the journal says '…{'a' * 30}b'"),
        (Edited("kit", "", "5thou"), "kit is '5thou' now, the journal says 'nothing'"),
        (Edited("title", "van", "", "found-1.jsonl"), "title is 'nothing' now, found-1.jsonl says 'van'"),
    ],
)  # fmt: skip
def test_what_was_edited_by_hand_is_said_with_what_stood_there(one, words):
    assert amiss.edited_sentence(one) == f"job.toml was edited by hand: {words}"


MADE = (("found-1.jsonl", 0.127), ("left-1.jsonl", 0.0762))


def test_a_limit_that_no_sweep_was_made_for_is_told_beside_the_verdict():
    said = amiss.limit_sentences(Ruling(by_hand=Limit(0.254, ""), made_for=MADE), JOB, "thou")
    assert said == [
        "the limit of 10.0 thou was put into job.toml by hand; found-1.jsonl was swept for 5.0 thou; "
        "left-1.jsonl was swept for 3.0 thou, and is judged by that; if that is right: coaxly job changed "
        "2026-11-25-van"
    ]
    assert amiss.limit_sentences(Ruling(Limit(0.254, ""), made_for=MADE[:1]), JOB, "mm") == [
        "found-1.jsonl was swept for 0.127 mm, and is judged by the limit of now, 0.254 mm"
    ]
    assert amiss.limit_sentences(Ruling(Limit(0.254, "")), JOB, "mm") == []
    assert amiss.limit_sentences(Ruling(made_for=MADE), JOB, "mm") == []


@pytest.mark.parametrize("kind", FORBIDS)
def test_a_doubt_is_lifted_by_name_but_for_those_of_the_unit(kind):
    said = doubtful.lifted(kind)
    if kind in ("other_unit", "too_large"):
        assert said == ""
    else:
        assert said == f". If you made sure that all is well: --sure {kind.replace('_', '-')}"
    assert doubtful.lifted("step") == ""


@pytest.mark.parametrize(
    ("kind", "facts", "words"),
    [
        ("too_large", {"swing_mm": 25.4, "unit": "in"}, "swings 1.0000 in, more than such a part is ever off: is the unit "
         "right? If the dial shows mm it is 1.000 mm, if thou it is 1.0 thou"),
        ("too_large", {"swing_mm": 25.4, "unit": "mm"}, "If the dial shows thou it is 25.4 thou"),
        ("too_large", {"swing_mm": 25.4, "unit": "thou"}, "swings 1000.0 thou, more than such a part is ever off: is the "
         "unit right? If the dial shows um it is 1000 um"),
        ("other_unit", {"swing_mm": 0.01}, "swings only 0.010 mm, in steps of an inch dial: if it shows inches, not mm, that is "
         "10.0 thou"),
        ("other_unit", {"swing_mm": 0.0254, "shows": "mm"}, "if they are mm, not thou, that is 1.000 mm"),
        ("dead_dial", {"reads_mm": 0.254, "stations": 9}, "the same 0.254 mm at all 9 stations and between them"),
        ("held_dial", {"after_deg": 90.0, "reads_mm": 0.254}, "from 3:00 on the dial read the same 0.254 mm"),
        ("not_turned", {"stations": 9, "swing_mm": 0.0}, "all 9 stations read the same within 0.000 mm"),
        ("unit_changed", {"before_deg": 90.0, "smaller": True, "stations": 1}, "at 3:00 alone the reading is 25.4 times smaller"),
        ("unit_changed", {"before_deg": 90.0, "smaller": False, "stations": 3}, "from 3:00 on the readings are 25.4 times larger"),
        ("wrong_angle", {"why": "way", "turn": "cw"}, "turned clockwise by the job, seen from behind, and the angle went anticlockwise"),
        ("wrong_angle", {"why": "way", "turn": "ccw"}, "turned anticlockwise by the job, seen from behind, and the angle went clockwise"),
        ("wrong_angle", {"why": "mirrored", "file": "f.jsonl"}, "those of f.jsonl the other way round"),
        ("wrong_angle", {"why": "unlike", "factor": None, "left_mm": 0.1}, "they came with by 0.100 mm: no turn of the crank"),
        ("tip_unmoved", {"feature": "face", "file": "f.jsonl"}, "those of the face (f.jsonl) once more"),
    ],
)  # fmt: skip
def test_a_doubt_says_what_was_seen(kind, facts, words):
    assert words in sentence(Remark.note(kind, **facts), "mm")


@pytest.mark.parametrize("kind", (*MARKS, "rezeroed", "unit_switched"))
def test_what_a_dial_says_of_itself_is_told_as_it_happens_with_what_to_do(kind):
    said, todo = markwords.says(kind).split(". ", 1)
    assert said.startswith("the dial ") and todo[0].isupper() and not todo.endswith(".")
    assert markwords.says(kind, "opposite").startswith("the second dial ")


@pytest.mark.parametrize(
    ("kind", "facts", "words"),
    [
        ("held", {"port": "indicator", "word": "HOLD", "count": 1, "at_s": 2.04},
         "the dial is on hold, so that it shows an old reading: it sent 'HOLD' with 1 line, which were not used, "
         "first at 2.0 s. Take it off hold"),
        ("low_battery", {"port": "opposite", "word": "BAT", "count": 3, "at_s": 0.0},
         "the second dial says that its battery is low: it sent 'BAT' with 3 lines, first at 0.0 s. Put a fresh one in"),
        ("not_live", {"stations_deg": [90.0, 180.0], "said": ["held", "over_range"]},
         "at 3:00 and 6:00 seen from behind the dial was on hold or over range while it was read: set it to live "
         "readings and sweep again"),
        ("not_live", {"stations_deg": [], "said": ["flagged"], "gap_deg": 40.0},
         "nothing was read over 40 degrees, and the dial was marked as not good: what lies there is not known. Set "
         "it to live readings and sweep again"),
        ("zero_lost", {"size_mm": 0.254},
         "in mid-sweep the dial was set anew by 10.0 thou, and these stations do not tell it from what was measured: "
         "sweep again"),
    ],
)  # fmt: skip
def test_what_a_dial_said_of_itself_is_told_afterwards(kind, facts, words):
    assert sentence(Remark.note(kind, **facts), "thou") == words


@pytest.mark.parametrize(("count", "times"), [(1, "was pressed in"), (2, "was pressed 2 times in")])
def test_a_key_pressed_in_mid_sweep_is_told_with_its_size(count, times):
    facts = {"count": count, "at_s": 3.0, "size_mm": -0.254}
    said = sentence(Remark.note("rezeroed", **facts), "thou")
    assert f"a key of the dial {times} mid-sweep: at 3.0 s" in said and "10.0 thou differently" in said
