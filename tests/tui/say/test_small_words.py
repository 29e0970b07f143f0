"""Words for single things: counts, corrections, kits, holes, dowels, ports, settings, journals, rigs."""

from dataclasses import replace
from pathlib import Path

import pytest

from coaxly.entry.preferences import Preferences, preferences_path
from coaxly.fitter.dial import DialCheck, StepError
from coaxly.fitter.dowels.kit import Kit, Size
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Dowel, Option, Predicted
from coaxly.fitter.pilot import AtPilot
from coaxly.fitter.result import BudgetLine, Remark
from coaxly.fitter.sag import Sag
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.job.folder.journal import Unproved
from coaxly.job.many.oneport import EncoderEar
from coaxly.logger.angle.turn import Turn
from coaxly.logger.profile import Profile
from coaxly.say import cautions, turning
from coaxly.say.dowels.holes import by_the_line, from_the_line, line_degrees
from coaxly.say.dowels.kitwords import kit_lines, kit_object, kit_words
from coaxly.say.dowels.options import note
from coaxly.say.filling import fill
from coaxly.say.job.amiss import unproved_words
from coaxly.say.job.reportwords import handed_lines
from coaxly.say.settingwords import settings_lines
from coaxly.say.shop import rig
from coaxly.say.smallwords import capital, counted, likely, shortened
from coaxly.say.sweep import features
from coaxly.say.sweep.findings import corrected_by, corrections
from coaxly.say.sweep.markwords import named
from coaxly.say.sweep.pilotwords import pilot_lines
from coaxly.say.sweep.warnings import sentence, short


def test_one_of_a_thing_has_no_plural():
    assert [counted(k, "station") for k in (0, 1, 2)] == ["0 stations", "1 station", "2 stations"]


@pytest.mark.parametrize(
    ("share", "said"),
    [(1.0, "> 99.9 %"), (0.9991, "> 99.9 %"), (0.999, "99.9 %"), (0.5, "50.0 %"), (0.001, "0.1 %"),
     (0.0009, "< 0.1 %"), (0.0, "< 0.1 %")],
)  # fmt: skip
def test_nothing_is_certain_and_nothing_impossible(share, said):
    assert likely(share) == said


def test_a_sentence_begins_with_a_capital_and_keeps_the_rest():
    assert capital("dowel A is in") == "Dowel A is in" and capital("") == ""


FACTS = {"size_mm": -0.0254, "at_deg": [90.0, 180.0], "files": ["a{b}", "c"], "count": 1, "at_s": 2.04}


@pytest.mark.parametrize(
    ("place", "said"),
    [("{size_mm}", "-1.0 thou"), ("{size_mm:abs}", "1.0 thou"), ("{at_deg}", "3:00 and 6:00"), ("{at_s:.1f}", "2.0"),
     ("{files}", "a{b}, c"), ("{files!r}", "['a{b}', 'c']"), ("{count:line was|lines were}", "1 line was")],
)  # fmt: skip
def test_a_fact_is_shown_as_its_name_says_or_as_the_sentence_asks(place, said):
    assert fill(f"it is {place}", FACTS, "thou") == f"it is {said}"
    assert fill("{size_mm:+}", {"size_mm": 0.0254}, "mm") == "+0.025 mm"
    assert fill(lambda facts, unit: f"{len(facts)} in {unit}", FACTS, "in") == "5 in in"


def test_each_correction_has_its_name_and_size_and_one_that_is_new_its_key():
    sizes = {
        "sag_mm": 0.0508,
        "tip_factor": 0.98481,
        "engine_tilt_deg": 5.0,
        "drift_mm": 0.0254,
        "newer_mm": 0.1,
    }
    assert corrections(sizes, "thou") == [
        ("sag of the arm", "2.0 thou"),
        ("tip at an angle, factor", "0.9848"),
        ("tilt of the engine", "5 deg"),
        ("drift by the closing reading", "1.0 thou"),
        ("newer mm", "3.9 thou"),
    ]
    assert corrected_by(sizes, "mm").startswith("sag of the arm 0.051 mm, tip at an angle")
    assert "drift" not in corrected_by(sizes, "mm") and corrected_by({"drift_mm": 0.1}, "mm") == ""


def test_whoever_hands_a_report_over_is_told_how_to_look_at_it():
    assert handed_lines(browser=True)[0] == "O opens it in the browser."
    assert "any browser" in handed_lines(browser=False)[0]
    assert handed_lines(browser=True)[1:] == handed_lines(browser=False)[1:]


def test_ports_are_called_as_people_call_them():
    assert named("indicator", "encoder") == "dial and encoder" and named("opposite") == "second dial"
    assert named("other") == "other"


def test_settings_are_shown_as_they_would_be_written_and_where():
    said = frozenset({"unit", "take_keys"})
    known = Preferences(unit="mm", take_keys=("f7",), source="/home/me/settings.toml", said=said)
    lines = settings_lines(known, Path("/shop"))
    by_key = {line.split()[0]: " ".join(line.split()) for line in lines if " = " in line}
    assert by_key["unit"] == 'unit = "mm" of lengths shown: thou, in, mm, um; set there'
    assert by_key["take_keys"].startswith('take_keys = ["f7"] ') and by_key["take_keys"].endswith(
        "; set there"
    )
    assert by_key["glyphs"].startswith('glyphs = "blocks" ') and by_key["glyphs"].endswith("; as usual")
    assert lines[-2] == "  /home/me/settings.toml" and lines[-1].startswith("  Change them on the screen")
    bare = settings_lines(replace(known, source="", glyphs="ascii"), Path("/shop"))
    assert bare[-2] == f"  {preferences_path()}" and bare[-1].startswith("  Not there yet.")
    assert '  glyphs = "ascii"' in "\n".join(bare)


@pytest.mark.parametrize(
    ("record", "words"),
    [
        ({"first": 3, "last": 3}, "line 3 was not sealed: a crash, or added by hand"),
        ({"first": 3, "last": 5}, "lines 3 to 5 were not sealed: a crash, or added by hand"),
        ({"first": 1, "last": 9, "state": "changed", "found": "in line 4"}, "not as it was written: in line 4"),
        ({"first": 2, "last": 2, "state": "no_record"},
         "bytes that are no record stood in line 2 and were cut away: a power cut, or put in by hand"),
    ],
)  # fmt: skip
def test_what_a_journal_does_not_prove_is_said(record, words):
    assert unproved_words(Unproved(time="2026-01-01T00:00:00Z", **record)) == words


def test_cautions_of_a_step_come_with_those_that_always_hold():
    for step in cautions.BY_STEP:
        lines = cautions.cautions(step)
        assert lines[0] == cautions.HEADS[step] and cautions.HEADS["always"] in lines
        assert all(f"  ! {line}" in lines for line in (*cautions.BY_STEP[step], *cautions.BY_STEP["always"]))
    assert all(head in cautions.cautions() for head in cautions.HEADS.values())
    assert set(cautions.SHORT) == set(cautions.HEADS) == set(cautions.BY_STEP)


def test_a_kit_of_plain_sizes_has_nothing_to_be_said_of_it():
    assert kit_lines(Kit.of([5 * THOU, 10 * THOU]), "thou") == []


def test_a_kit_says_counts_pins_way_and_what_was_left_aside():
    kit = Kit(
        "drawer", (Size(5 * THOU, 1), Size(10 * THOU, 4)), body=12.7, way="free", aside=(("old", 15.875),)
    )
    assert kit_lines(kit, "thou") == [
        "Kit drawer: pins 12.7 mm; set free; 1 x 5.0, 4 x 10.0 thou there",
        "Only one of 5.0 thou is there: no parallel pair of it",
        "Left aside: old, its pins of 15.88 mm do not fit the hole",
    ]
    told = kit_object(kit)
    assert told["left_aside"] == [{"kit": "old", "pin_mm": 15.875}] and told["pin_mm"] == 12.7
    assert [(size["count"], size["kit"]) for size in told["sizes"]] == [(1, "drawer"), (4, "drawer")]


def test_a_kit_of_a_job_is_shown_in_the_unit_asked_for_and_a_file_by_its_name():
    assert kit_words("5thou, 0.254mm,drawer.toml", "thou") == "5.0 thou, 10.0 thou, drawer.toml"


PINS = Pins((-140.0, -25.0), (140.0, -25.0))  # its line points to 3 o'clock, 90 degrees


@pytest.mark.parametrize(
    ("deg", "words"),
    [(90.0, "along"), (90.4, "along"), (89.5, "along"), (90.5, "along"), (90.6, "1 deg clockwise"),
     (91.4, "1 deg clockwise"), (89.4, "1 deg anticlockwise"), (122.0, "32 deg clockwise")],
)  # fmt: skip
def test_a_direction_within_half_a_degree_of_the_line_is_along_it(deg, words):
    assert from_the_line(deg, PINS) == words


def test_dowels_that_point_apart_are_told_hole_by_hole():
    assert by_the_line([90.0], PINS) == "along, from the line left hole to right hole"
    assert by_the_line([120.0, 60.0], PINS) == (
        "left hole 30 deg clockwise, right hole 30 deg anticlockwise, from the line left hole to right hole"
    )
    assert by_the_line([], PINS) == by_the_line([90.0], None) == ""
    assert line_degrees([120.0, 60.0], PINS) == pytest.approx([30.0, -30.0])


UP = Dowel(5 * THOU, 122.0, "4:04", 122.0, "4:04")
PARALLEL = Option("parallel", (UP, UP), Predicted(0.0, 0.0), 0.9, 20.0, sure_window_deg=12.7)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"judged": "unlikely", "goes_on": 0.3}, "unlikely to go on"),
        ({"judged": "unlikely", "goes_on": 0.5}, "unlikely to end within the limit"),
        ({"judged": "unlikely", "goes_on": 0.9}, "unlikely to end within the limit"),
        ({"judged": "unlikely", "goes_on": None}, "unlikely to end within the limit"),
        ({"goes_on": 0.3}, "both high sides to 4:04 from behind, within 12 degrees either way"),
        ({"sure_window_deg": None}, "both high sides to 4:04 from behind; no angle is 95 % sure to end inside"),
        ({"sure_window_deg": 180.0}, "both high sides to 4:04 from behind; any angle ends inside"),
        ({"bind": 0.0254, "turn_deg": 0.01}, "both high sides to 4:04 from behind, within 12 degrees either way"),
        ({"pair": "split", "bind": -0.0254, "turn_deg": -0.0123},
         "beyond common practice: bind 1.0 thou, the housing turns 0.012 degrees"),
        ({"pair": "split", "bind": None, "turn_deg": 0.01},
         "both high sides to 4:04 from behind, within 12 degrees either way"),
        ({"pair": "split", "bind": 0.0254, "turn_deg": None},
         "both high sides to 4:04 from behind, within 12 degrees either way"),
        ({"judged": "as_it_stands", "probability": 0.4}, "nothing fitted: it stays outside the limit"),
        ({"judged": "as_it_stands", "probability": 0.6}, "leave it as it stands"),
    ],
)  # fmt: skip
def test_what_there_is_to_say_of_dowels_to_choose(changes, words):
    assert note(replace(PARALLEL, **changes), "thou") == words


def test_where_nothing_at_hand_helps_other_sizes_are_wanted():
    none = replace(PARALLEL, judged="as_it_stands", probability=0.4)
    assert note(none, "thou", best=True).endswith("; get other sizes")


def test_where_the_shaft_is_led_is_said_with_what_makes_it_unsure():
    budget = (BudgetLine("bore", "A", 0.0051), BudgetLine("register", "B", 0.0))
    at = AtPilot((0.1, 0.0), 0.1, 0.0254, 90.0, 0.0312, 0.0254, 0.0127, budget)
    text = "\n".join(pilot_lines(at, "thou"))
    assert "is 3.9 +- 1.0 thou off the crank's" in text and "towards 3:00 (90 deg) seen from behind" in text
    assert "askew by 0.031 degrees" in text and "up to 1.0 thou to any side" in text
    assert "carries the shaft's end round by 0.5 thou besides" in text
    assert text.endswith("as standard uncertainties: bore 0.20 thou")
    bare = "\n".join(pilot_lines(replace(at, u95=0.1, play=0.0, carried=None), "thou"))
    assert "too little to tell which way" in bare and "play" not in bare and "carries" not in bare


def test_a_sag_that_cannot_be_one_is_said_with_what_may_be_wrong():
    good = Sag(0.05, 0.002, 0.001, 0.002)
    lines = rig.sag_lines(good, "mm")
    assert lines[0].endswith("0.0500 +- 0.0020") or "0.0500" in lines[0]
    assert "-0.1000 mm" in lines[1] and len(lines) == 3
    assert "weight does not pull to the side" in rig.sag_lines(replace(good, sideways=0.02), "mm")[-1]
    assert "--polarity -1" in rig.sag_lines(replace(good, amount=-0.05), "mm")[-1]
    assert rig.sag_object(good, "arm")["sag"]["bottom"] == -0.1


@pytest.mark.parametrize(
    ("error", "u95", "judged"),
    [(0.003, 0.001, "within"), (0.004, 0.001, "within"), (0.0045, 0.001, "unsure"), (-0.0055, 0.001, "unsure"),
     (-0.0071, 0.001, "beyond"), (0.0071, 0.001, "beyond")],
)  # fmt: skip
def test_an_error_is_judged_with_its_interval(error, u95, judged):
    assert rig.judged(StepError(1.0, 1.0 + error, error, u95), 0.005) == judged


def test_a_dial_is_told_step_by_step_and_nonsense_refused():
    steps = (StepError(0.0, 0.0, 0.0, 0.0), StepError(1.0, 1.02, 0.02, 0.002))
    check = DialCheck(12, steps, -0.004, 0.001, 0.0015, 8, 0.001, (), 0.001)
    text = "\n".join(rig.dial_lines(check, 0.005, "mm"))
    assert "Dial against 2 gauge steps, 12 readings" in text and "BEYOND what is permitted" in text
    assert (
        "Going in it reads less than going out, by 0.0040" in text and "It shows steps of 0.0010 mm" in text
    )
    assert "BEYOND" not in "\n".join(rig.dial_lines(check, 0.0, "mm"))
    assert rig.nonsense(check, 12) == "" and "only 12 of 16 readings" in rig.nonsense(check, 16)
    wild = replace(check, steps=(steps[0], StepError(1.0, 2.5, 1.5, 0.1)))
    assert "a step was out of its place" in rig.nonsense(wild, 12)


def test_two_numbers_are_told_with_their_worth_and_in_full_with_what_they_cannot_show():
    remark = Remark.note("two_numbers", within_mm=0.0508, within_deg=15.0)
    assert short(remark, "thou") == "of two numbers, good to +- 2.0 thou and 15 degrees"
    assert sentence(remark, "thou").startswith(f"{short(remark, 'thou')}. Out of round")


@pytest.mark.parametrize(("feature", "turns"), [("bore", False), ("face", False), ("pilot", True), ("flywheel", True)])  # fmt: skip
def test_where_the_part_turns_its_own_mark_is_12(feature, turns):
    assert features.on_the_part(feature) == (" on the part, with its mark at 12" if turns else "")
    assert feature in features.SWEPT[feature] and (feature in features.PARTS) is turns


LINE = Profile(name="heard", baud=19200, parity="E", counts_per_turn=4096.0)


@pytest.mark.parametrize(
    ("counts", "words"),
    [(4090.0, "About 4090 counts came: are they 4096 for one turn (360: it sends degrees)? Y: yes. Else"),
     (900.0, "About 900 counts came, which is no usual number. Type how many")],
)  # fmt: skip
def test_counts_of_a_turn_are_offered_where_they_are_usual(counts, words):
    assert turning.counts_question(Turn(counts, 1, 0.0, 3.0), "Y").startswith(words)


@pytest.mark.parametrize(
    ("known", "words"),
    [({}, "4096 counts for one turn, with the crank; never starts anew"),
     ({"direction": -1, "wrap": 65536.0}, "4096 counts for one turn, against the crank; starts anew at 65536"),
     ({"base": 16}, ", hexadecimal: 4096 counts")],
)  # fmt: skip
def test_what_was_learnt_of_an_encoder_is_said_in_a_line(known, words):
    (said,) = turning.encoder_words(replace(LINE, **known))
    assert said.startswith("19200 baud 8E1") and words in said


def test_the_port_of_an_encoder_says_how_it_is_heard():
    ear = EncoderEar("/dev/crank", [LINE], 1.0)
    assert turning.ear_words(ear).startswith("/dev/crank: listening at 19200 baud 8E1. Turn the crank to and")
    ear.state, ear.why = "failed", "in use"
    assert turning.ear_words(ear) == "X in use"


def test_a_long_name_is_told_by_its_beginning_and_its_end():
    assert shortened("blue van, as found") == "blue van, as found"
    told = shortened("the blue van of the dairy with the rebuilt engine, block K2-118")
    assert told == "the blue van of the da..block K2-118" and len(told) == 36
