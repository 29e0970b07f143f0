"""What happened to dowels, and what to do, in sentences made from facts."""

import json
from dataclasses import replace
from typing import get_args

import msgspec
import pytest
from making import RECORDINGS
from proofs import MARKED

from coaxly.entry.lengths import degrees
from coaxly.fitter.dowels.causes import FINE, Cause
from coaxly.fitter.dowels.compare import CANNOT_BE_TOLD, Finding
from coaxly.fitter.dowels.explain import Explanation
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Dowel, Judged, Option, Predicted
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.job.folder.journal import Proof
from coaxly.main import main
from coaxly.say.dowels.explanations import remedy, words
from coaxly.say.dowels.guide import guide_lines, leeway
from coaxly.say.dowels.holes import by_the_line
from coaxly.say.dowels.options import note
from coaxly.say.dowels.optiontable import chances
from coaxly.say.job.jobwords import dowels_in_words, record_words
from coaxly.say.objects import option_object
from coaxly.say.sweep.findings import option_lines

TURN = {"marks_deg": (125.0,)}
SIZE = Explanation("wrong size", 0.5, sizes_mm=(3 * THOU,))


def finding(*among):
    return Finding(CANNOT_BE_TOLD, sum(each.probability for each in among), among)


@pytest.mark.parametrize("cause", get_args(Cause))
def test_every_cause_has_its_words(cause):
    facts = TURN if cause in MARKED else {}
    one = Finding.of(Explanation(cause, 0.9, **facts))
    assert words(one, "thou")
    assert bool(remedy(one)) == (cause not in FINE)


@pytest.mark.parametrize(("unit", "size"), [("thou", "3.0 thou"), ("mm", "0.076 mm")])
def test_half_of_a_shift_names_the_size_in_the_unit_shown_and_says_to_look(unit, size):
    both = finding(Explanation("one dowel only", 0.45), SIZE)
    assert size in words(both, unit) and "about half" in words(both, unit)
    assert "stamps" in remedy(both) and "seen from behind" in remedy(both)


def test_two_causes_with_one_cure_say_the_cure():
    both = finding(Explanation("180 degrees out", 0.5, **TURN), Explanation("mirrored", 0.4, **TURN))
    assert words(both, "thou") == (
        "both dowels are set half a turn out OR the dowels' angle was read from the front: the cure is the same"
    )
    assert remedy(both) == "set the high sides to 4:10 seen from behind the engine, and sweep again"


def test_two_causes_with_two_cures_say_to_look():
    both = finding(Explanation("as planned", 0.5), Explanation("mirrored", 0.4, **TURN))
    assert "cannot tell between" in words(both, "thou") and "sweep again" in remedy(both)


def test_as_planned_or_settled_is_no_mistake_whichever_it_was():
    both = finding(Explanation("as planned", 0.5), Explanation("settled", 0.4))
    assert "neither is a mistake" in words(both, "thou") and remedy(both) == ""


@pytest.mark.parametrize(
    ("cause", "said"),
    [
        ("180 degrees out", "leave the dowels alone"),
        ("mirrored", "sweep once more"),
        ("wrong size", "note what is really in"),
        ("not seated", "a housing that no dowel holds"),
        ("one dowel only", "sits home"),
    ],
)
def test_beside_inside_nothing_is_turned_but_what_holds_the_housing_is_seen_to(cause, said):
    facts = TURN if cause in ("180 degrees out", "mirrored") else {}
    one = Finding.of(Explanation(cause, 0.9, **facts))
    assert said in remedy(one, inside=True) and "high sides" not in remedy(one, inside=True)
    assert remedy(one) != remedy(one, inside=True)


def test_a_direction_that_rounds_to_a_whole_turn_is_shown_as_none():
    assert [degrees(deg) for deg in (359.7, 359.4, 0.2, 125.0)] == ["0 deg", "359 deg", "0 deg", "125 deg"]


def option(judged, window=20.0, **facts):
    dowels = (Dowel.at(5 * THOU, 125.0), Dowel.at(5 * THOU, 125.0))
    return Option(
        "parallel", dowels, Predicted(0.1, 0.1), 0.9, 180.0, judged, sure_window_deg=window, **facts
    )


@pytest.mark.parametrize("judged", get_args(Judged))
def test_every_option_has_its_note(judged):
    assert note(option(judged), "thou")


def test_an_option_says_where_and_how_closely_the_marks_go():
    assert note(option("fits"), "thou") == "both high sides to 4:10 from behind, within 20 degrees either way"
    assert "any angle ends inside" in note(option("fits", 180.0), "thou")


def test_no_proof_and_no_chance_is_told_as_a_whole_hundred():
    proof = Proof(
        time="", operator="", found="f", left="l", cause="as planned", probability=0.9996, state="inside"
    )
    sure = replace(option("fits", goes_on=1.0), probability=1.0)
    told = [record_words(proof, "thou"), *option_lines([sure], "thou")]
    assert "> 99.9 %" in told[0] and "100" not in " ".join(told)


def test_an_angle_is_called_safe_only_where_it_is_surely_so():
    assert "up to 20 degrees off the mark still ends inside, 95 % sure" in " ".join(
        leeway(option("fits", 20.9))
    )
    unsure = option("fits", None)
    assert "no angle is 95 % sure" in note(unsure, "thou")
    assert leeway(unsure)[0].startswith("No angle is safe") and leeway(unsure)[0] in guide_lines(
        unsure, None, "mm"
    )
    assert "No angle is 95 % sure" in chances(unsure, None, "mm")[-1]
    assert "any" not in " ".join(leeway(option("fits", 180.0)))


def test_figures_of_two_unlike_dowels_stand_under_the_same_heads():
    unlike = (Dowel.at(5 * THOU, 61.0), Dowel.at(10 * THOU, 150.0))
    pairs = [
        option("fits", goes_on=0.9),
        Option("split", unlike, Predicted(0.1, 0.1), 0.9, 5.0, "fits", sure_window_deg=4.0),
    ]
    lines = [line for line in option_lines(pairs, "thou") if "%" in line]
    assert len(lines) == 2 and {line.rindex("%") for line in lines} == {len(lines[0]) - 1}


HOLES = Pins((-140.0, -25.0), (140.0, -25.0))


@pytest.mark.parametrize(
    ("turned", "said"),
    [
        ((125.0, 125.0), "35 deg clockwise from the line left hole to right hole"),
        ((90.2, 90.2), "along, from the line left hole to right hole"),
        (
            (60.0, 100.0),
            "left hole 30 deg anticlockwise, right hole 10 deg clockwise, from the line left hole to right hole",
        ),
    ],
)
def test_dowels_are_told_from_the_line_through_their_holes(turned, said):
    assert by_the_line(turned, HOLES) == said
    pair = replace(option("fits"), dowels=tuple(Dowel.at(5 * THOU, deg) for deg in turned))
    assert said in "\n".join(option_lines([pair], "thou", HOLES)) and said in " ".join(
        guide_lines(pair, HOLES, "thou")
    )
    assert option_object(pair, "thou", HOLES)["from_line_deg"] == pytest.approx(
        [deg - 90.0 for deg in turned]
    )
    dowels = tuple((5 * THOU, deg) for deg in turned)
    assert said in dowels_in_words(dowels, "thou", "-5.5in,-1in 5.5in,-1in")


def test_without_holes_there_is_no_line():
    for holes in ("", "somewhere"):
        assert "line" not in dowels_in_words(((5 * THOU, 125.0),) * 2, "thou", holes)
    assert "line" not in " ".join(guide_lines(option("fits"), None, "thou"))
    assert "from_line_deg" not in option_object(option("fits"), "thou")


def test_a_mark_beside_the_high_side_is_what_the_guide_tells_from_the_line():
    pair = replace(option("fits"), dowels=(Dowel.at(5 * THOU, 125.0, 90.0),) * 2)
    said = " ".join(guide_lines(pair, HOLES, "thou"))
    assert "the marks are 55 deg anticlockwise from the line left hole to right hole" in said


def test_an_option_that_will_hardly_go_on_says_so():
    assert note(option("unlikely", goes_on=0.3), "thou") == "unlikely to go on"
    assert note(option("unlikely", goes_on=0.9), "thou") == "unlikely to end within the limit"


def test_an_option_kept_by_an_earlier_version_is_still_read():
    kept = {**option("fits").to_dict(), "note": "both high sides to 4:10"}
    del kept["judged"]
    assert note(msgspec.convert(kept, Option), "thou").startswith("both high sides to 4:10")


def test_json_keeps_the_sentences_beside_the_facts(capsys):
    found, left = (str(RECORDINGS / f"launch-{stage}.jsonl") for stage in ("found", "left"))
    main(["verify", "--json", found, left, "--fitted", "5thou@122", "--kit", "5thou"])
    said = json.loads(capsys.readouterr().out)
    for each in (said["finding"], *said["explanations"]):
        assert {"cause", "probability", "words", "remedy"} <= set(each)
    main(["plan", "--json", found, "--kit", "1thou"])
    planned = json.loads(capsys.readouterr().out)
    assert len(planned["advice"]) == len(planned["remarks"]) == 1
    assert all(option["note"] for option in planned["options"])
