"""Lines of every shape are understood, or asked about; nothing is taken for what it is not."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.logger.line.decoder import Decoder
from coaxly.logger.line.finder import find
from coaxly.logger.line.pattern import pattern_of
from coaxly.logger.line.questions import Told
from coaxly.logger.profile import Profile
from coaxly.logger.readings import Readings

VALUES = [0.0112, 0.0113, 0.0111, 0.0112, 0.0109, 0.0114, 0.0112, 0.0110]


def asks(found):
    """What is open, but for the unit."""
    about = found.question.about if found.question is not None else ""
    return "" if about == "unit" else about


def decoded(found, lines, unit="mm"):
    decoder = Decoder(Profile(pattern=pattern_of(found), unit=unit))
    decoder.feed("".join(line + "\r\n" for line in lines).encode("latin-1"), 1.0)
    events = list(decoder.events())
    assert all(isinstance(event, Readings) for event in events), events
    angles = [a for e in events if e.angle is not None for a in e.angle.tolist()]
    return [v for e in events for v in e.value.tolist()], angles, {e.unit for e in events}


@pytest.mark.parametrize(
    ("form", "unit", "factor"),
    [
        ("01A{:+010.4f}", "mm", 1.0), ("DIAL1: {:.4f} thou", "in", 1e-3), ('{{"v": {:.4f}, "u": "in"}}', "in", 1.0),
        ("{:+.3e}", "mm", 1.0), ("{:.4f}", "mm", 1.0), ("{:.4f} mm", "mm", 1.0), ('{:.4f}"', "in", 1.0),
        ("+ {:.4f}", "mm", 1.0), ("A={:.4f}", "mm", 1.0), ("#3;{:.4f};in;ok", "in", 1.0), ("{:.4f} \xb5m", "mm", 1e-3),
        ("R1 CH02 {:+08.4f} MM N", "mm", 1.0), ("<d>{:.4f}</d>", "mm", 1.0),
    ],
)  # fmt: skip
def test_one_reading_among_constant_text(form, unit, factor):
    lines = [form.format(value) for value in VALUES]
    found = find({"heard": lines})
    assert asks(found) == "" and found.roles.count("value") == 1
    values, angles, units = decoded(found, lines)
    assert values == pytest.approx([v * factor for v in VALUES], rel=1e-3) and not angles and units == {unit}


def test_a_decimal_comma_and_no_leading_nothing():
    lines = [f"{value:.4f}".replace(".", ",") for value in VALUES]
    assert decoded(find({"heard": lines}), lines)[0] == pytest.approx(VALUES)
    bare = [f"{value:+.4f}".replace("0.", ".") for value in VALUES]
    assert decoded(find({"heard": bare}), bare)[0] == pytest.approx(VALUES)


@pytest.mark.parametrize(("form", "which"), [("{:.3f} mm {:.5f} in", 1), ("{:.4f} mm {:.4f} in", 0)])
def test_of_one_reading_in_two_units_the_finer_is_taken_and_nothing_asked(form, which):
    rest, pushed = (
        [form.format(25.4 * v, v) for v in values] for values in (VALUES, [0.02, 0.05, 0.09, 0.05])
    )
    found = find({"heard": rest, "plunger": pushed})
    assert (asks(found), found.roles.index("value")) == ("", which)


@pytest.mark.parametrize(("steps", "moved"), [(9, False), (12, True)])
def test_what_moves_by_ten_steps_of_its_display_follows_the_plunger(steps, moved):
    rest, pushed = (
        ["0.5000 0.0112"] * 6,
        [f"0.5000 {0.0112 + steps * 1e-4 * part:.4f}" for part in (0.0, 0.5, 1.0, 0.0)],
    )
    assert (asks(find({"heard": rest, "plunger": pushed})) != "plunger") == moved


@pytest.mark.parametrize(
    ("lines", "of_one"),
    [
        (["A 1.234", "B 50.678", "A 1.234"], 2),
        (["A 1.00", "B 1.05", "A 1.10", "B 1.05"], 4),
        (["A 1.00", "B 1.05", "A 1.10", "B 1.05", "A 1.00", "B 1.05"], 3),
    ],
)
def test_lines_that_take_turns_are_two_dials_where_their_readings_say_so(lines, of_one):
    assert len(find({"heard": lines}).kind.lines) == of_one


def test_a_number_in_brackets_may_be_minus_and_is_asked_about():
    assert asks(find({"heard": [f"({value:.4f}) mm" for value in VALUES]})) == "shows"


@pytest.mark.parametrize("between", [",", "\t", ";", " "])
def test_a_clock_is_no_angle(between):
    lines = [f"{2300 + 10 * k}{between}{value:.4f}" for k, value in enumerate(VALUES)]
    found = find({"heard": lines})
    assert found.roles == ("clock", "value") and asks(found) == ""
    values, angles, _ = decoded(found, lines)
    assert values == pytest.approx(VALUES) and angles == []
    assert found.describe()[0][1:] == ("counts up", "clock")


@pytest.mark.parametrize("between", [",", "\t"])
def test_an_angle_that_comes_round_is_one(between):
    lines = [f"{(50.5 * k) % 360:.1f}{between}{0.1 * math.sin(k):.4f}" for k in range(30)]
    found = find({"heard": lines})
    assert found.roles == ("angle", "value") and asks(found) == ""
    assert decoded(found, lines)[1] == pytest.approx([50.5 * k % 360 for k in range(30)], abs=0.06)


def test_two_numbers_that_stay_are_asked_about_and_the_plunger_answers():
    rest = ["045.0,+0.2500"] * 6
    asked = find({"heard": rest})
    assert asks(asked) == "plunger"
    pushed = [f"045.0,{0.25 + 0.1 * (k % 3):+.4f}" for k in range(9)]
    turned = [f"{45 + 7.5 * k:05.1f},+0.2500" for k in range(9)]
    assert find({"heard": rest, "plunger": pushed, "crank": turned}).roles == ("angle", "value")
    # The other way round, and with a clock that runs through all of it.
    lines = {
        "heard": [f"{0.5 * k:.1f} +0.2500 045.0" for k in range(6)],
        "plunger": [f"{5 + 0.5 * k:.1f} {0.25 + 0.1 * (k % 3):+.4f} 045.0" for k in range(9)],
        "crank": [f"{20 + 0.5 * k:.1f} +0.2500 {45 + 7.5 * (k % 5):05.1f}" for k in range(9)],
    }
    found = find(lines)
    assert found.roles == ("clock", "value", "angle") and asks(found) == ""


def test_somebody_who_knows_may_say_which_field_is_which():
    lines = ["045.0,+0.2500"] * 6
    assert find({"heard": lines}, Told(roles=("value", "angle"))).roles == ("value", "angle")
    for roles in (("value",), ("value", "value"), ("clock", "angle")):
        with pytest.raises(ValueError, match="field"):
            find({"heard": lines}, Told(roles=roles))


@pytest.mark.parametrize("lines", [[], ["hello"] * 9, ["", " "], ["1.0"]])
def test_nothing_to_find(lines):
    assert find({"heard": lines}) is None


def test_lines_in_error_are_understood_as_such():
    found = find({"heard": ["1.25 mm", "1.26 mm", "1.25 mm", "1.27 mm"]})
    decoder = Decoder(Profile(pattern=pattern_of(found)))
    decoder.feed(b"1.25 mm Err\r\n", 0.0)
    (event,) = decoder.events()
    assert (event.kind, event.word) == ("instrument_error", "1.25 mm Err")


@given(st.lists(st.text(st.characters(codec="latin-1", exclude_characters="\r\n"), max_size=24), max_size=12))
def test_any_lines_are_found_out_or_not(lines):
    found = find({"heard": lines})
    if found is not None:
        assert found.roles.count("value") == 1
        _ = Profile(pattern=pattern_of(found)).regex


def test_any_order_of_fields_is_found_with_the_plunger_and_the_crank():
    dice = random.Random(5)
    for _ in range(60):
        order = ["value", "angle", "clock"]
        dice.shuffle(order)
        order = order[: dice.randint(1, 3)] if "value" in order[:1] else order
        between = dice.choice([",", ";", " ", "\t", "|"])
        clock = iter(range(0, 10_000, 100))

        def line(value, angle, order=order, between=between, clock=clock):
            late = dice.randint(-5, 5)
            texts = {"value": f"{value:+.4f}", "angle": f"{angle:.1f}", "clock": str(next(clock) + 10 + late)}
            return between.join(texts[name] for name in order)

        heard = {
            "heard": [line(0.1 + 1e-4 * dice.randint(-2, 2), 30.0) for _ in range(12)],
            "plunger": [line(0.1 + 0.05 * math.sin(k), 30.0) for k in range(12)],
            "crank": [line(0.1 + 0.02 * math.sin(k / 5), 30.0 + 3.0 * k) for k in range(12)],
        }
        found = find(heard)
        assert list(found.roles) == order and asks(found) == "", (order, heard["heard"][0])


def test_blanks_that_come_and_go_with_the_width_of_a_number():
    lines = [
        f"X{value:9.4f} Y{angle:8.2f}" for value, angle in zip(VALUES, [-3.0, 12.5, 100.0] * 3, strict=False)
    ]
    found = find({"heard": lines}, Told(roles=("value", "angle")))
    values, angles, _ = decoded(found, lines)
    assert values == pytest.approx(VALUES) and angles[:3] == [-3.0, 12.5, 100.0]


def test_what_counts_up_within_a_turn_may_be_either_and_is_asked_about():
    lines = [f"{7 * k} {value:.4f}" for k, value in enumerate(VALUES)]
    found = find({"heard": lines})
    assert asks(found) == "plunger"
    still = {"plunger": [f"{7 * k} {0.1 * (k % 3):.4f}" for k in range(9, 18)]}
    assert find({"heard": lines, **still}).roles == ("clock", "value")


def test_a_whole_number_that_stays_is_a_name_and_one_with_decimals_only_once_the_plunger_was_moved():
    whole, decimals = [f"7 {v:.4f}" for v in VALUES], [f"21.5 {v:.4f}" for v in VALUES]
    assert find({"heard": whole}).roles == ("label", "value")
    at_rest = find({"heard": decimals})
    assert asks(at_rest) == "plunger"
    pushed = [f"21.5 {v + 0.1 * (k % 3):.4f}" for k, v in enumerate(VALUES)]
    assert find({"heard": decimals, "plunger": pushed}).roles == ("label", "value")


@pytest.mark.parametrize(
    ("first", "steps", "clock"),
    [(352.0, 2.0, True), (346.5, 2.0, True), (346.0, 2.0, False), (344.0, 2.0, False), (700.0, 2.0, True)],
    ids=["past a turn", "just past a turn", "to a turn", "within a turn", "far past a turn"],
)  # fmt: skip
def test_what_counts_up_past_a_turn_is_a_clock_and_no_angle(first, steps, clock):
    lines = [f"{first + steps * k:.1f};{value:.4f}" for k, value in enumerate(VALUES)]
    assert (asks(find({"heard": lines})) == "") is clock


def test_a_large_number_that_does_not_run_is_no_clock():
    lines = [f"{1250.5 + 3.0 * (-1) ** k:.1f};{value:.4f}" for k, value in enumerate(VALUES)]
    assert asks(find({"heard": lines})) == "plunger"
