"""What tells mistakes apart at the engine, where the shift does not."""

from dataclasses import replace

import msgspec
import pytest
from making import RECORDINGS
from proofs import among

from coaxly.fitter.dowels.bothways import Sweeps
from coaxly.fitter.dowels.compare import compare
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.job.folder.journal import Proof
from coaxly.job.recorded.pipeline import replay
from coaxly.say.dowels.explanations import difference_words, remedy, remedy_noted, words
from coaxly.say.sweep.findings import comparison_lines

BELONG = (
    "look at both marks, seen from behind: the high sides belong at 4:10. If one stands elsewhere, set it so"
)


@pytest.mark.parametrize(
    ("causes", "if_both_do"),
    [
        (("mirrored", "both swept the other way"), "sweep again, turning the crank the way that was said"),
        (
            ("180 degrees out", "mirrored", "both swept the other way"),
            "sweep again, turning the crank the way that was said",
        ),
        (("not seated", "one half a turn out"), "see that the dowels are in and the housing sits home"),
        (("one mirrored", "one dowel only", "wrong size"), "look at the stamps on both dowels"),
        (
            ("one dowel only", "left swept the other way", "one mirrored"),
            "sweep again, turning the crank the way that was said",
        ),
        (("as planned", "one mirrored"), "sweep again, with more stations or another turn"),
    ],
)
def test_the_marks_are_looked_at_first_and_what_they_say_decides(causes, if_both_do):
    said = remedy(among(*causes))
    assert said.startswith(BELONG) and f"if both stand there, {if_both_do}" in said
    assert words(among(*causes), "thou").startswith("cannot tell between: ")


def test_unlike_marks_are_both_said():
    assert "belong at 4:10 and 2:00" in remedy(
        among("mirrored", "both swept the other way", marks=(125.0, 60.0))
    )


@pytest.mark.parametrize(
    ("causes", "said"),
    [
        (
            ("left swept the other way", "one dowel only"),
            "turning the crank the way that was said, else clockwise",
        ),
        (
            ("as planned", "left swept the other way"),
            "turning the crank the way that was said, else clockwise",
        ),
        (("not seated", "wrong size"), "look at the stamps"),
        (("found swept the other way",), "choose again from that one"),
        (("left swept the other way",), "leave the dowels alone: sweep again"),
        (("both swept the other way",), "choose again once it is swept right"),
    ],
)
def test_without_marks_in_question_nobody_is_sent_to_them(causes, said):
    assert said in remedy(among(*causes)) and "high sides" not in remedy(among(*causes))


@pytest.mark.parametrize("cause", ["found swept the other way", "left swept the other way"])
def test_what_mirrors_a_sweep_is_said(cause):
    assert "the crank was turned the other way than was said, anticlockwise" in words(among(cause), "thou")
    assert "say so with --turn" in remedy(among("left swept the other way"))
    assert "the crank was turned" not in words(among("mirrored"), "thou")


@pytest.mark.parametrize("causes", [("left swept the other way",), ("mirrored", "both swept the other way")])
def test_inside_is_inside_whichever_way_the_crank_went(causes):
    assert remedy(among(*causes), inside=True).startswith(
        "it is inside the limit whichever way the crank went"
    )
    held = remedy(among("not seated", *causes), inside=True)
    assert "a housing that no dowel holds" in held


def test_the_record_of_a_proof_gives_the_same_remedy():
    told = among("mirrored", "both swept the other way")
    noted = tuple((each.cause, each.marks_deg) for each in told.among)
    proof = Proof(
        time="", operator="", found="f", left="l", cause="c", probability=0.9, state="outside", among=noted
    )
    assert remedy_noted(proof) == remedy(told)
    assert remedy_noted(msgspec.structs.replace(proof, state="inside")) == remedy(told, inside=True)
    newer = msgspec.structs.replace(proof, among=(("of a later version", ()),))
    assert remedy_noted(newer) == ""


@pytest.fixture(scope="module")
def proven():
    found, left = (replay(RECORDINGS / f"launch-{stage}.jsonl").result() for stage in ("found", "left"))
    setting = DowelSetting((5 * THOU, 5 * THOU), (122.0, 122.0))
    return compare(Sweeps.of(found.eccentricity, left.eccentricity), setting), left


@pytest.mark.parametrize(
    ("amount", "explained", "within", "said"),
    [
        (0.9, 1.1, True, "0.9 thou, no more than measuring and setting explain that way (1.1 thou)"),
        (0.9, 0.7, False, "0.9 thou, MORE than measuring and setting explain that way (0.7 thou)"),
        (0.92, 0.88, False, "0.9 thou, JUST MORE than measuring and setting explain that way (0.9 thou)"),
        (0.88, 0.92, True, "0.9 thou, no more than measuring and setting explain that way (0.9 thou)"),
    ],
)
def test_a_difference_is_said_beside_what_it_was_judged_by(proven, amount, explained, within, said):
    comparison, _ = proven
    gap = replace(
        comparison.difference,
        amount=amount * THOU, explained=explained * THOU, within=within, semi_axes=(9 * THOU, 0.1 * THOU),
    )  # fmt: skip
    one = replace(comparison, difference=gap)
    assert difference_words(one, "thou") == said + ("" if within else ", but no mistake explains it better")
    assert difference_words(replace(one, finding=among("mirrored")), "thou") == said
    assert difference_words(replace(one, difference=None), "thou") == ""
    assert f"  Difference      {said}" in "\n".join(comparison_lines(one, "thou"))


def test_only_a_sweep_as_left_that_is_inside_leaves_the_dowels_alone(proven):
    comparison, left = proven
    wrong = replace(comparison, finding=among("180 degrees out"))
    outside = replace(left, decision=replace(left.decision, state="outside"))
    for sweep, said in (
        (None, "set the high sides to 4:10"),
        (outside, "set the high sides"),
        (left, "leave the"),
    ):
        assert f"  What to do: {'it is inside' if sweep is left else said}" in "\n".join(
            comparison_lines(wrong, "thou", sweep)
        )
