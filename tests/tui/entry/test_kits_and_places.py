import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.entry.kits import load_kits
from coaxly.entry.lengths import LengthError
from coaxly.entry.places import (
    parse_bolts,
    parse_direction,
    parse_limit,
    parse_pins,
    parse_points,
    parse_setting,
    parse_shims,
    parse_swing,
)
from coaxly.fitter.errors import FitterError
from coaxly.fitter.units import MM_PER_THOU as THOU

DRAWER = """
name = "drawer"
body = "1/2in"
"""
KIT = """
name = "drawer"
body = "0.5in"
tolerance = "0.2thou"
mark_deg = 90
[[size]]
offset = "5thou"
count = 1
[[size]]
offset = "10thou"
"""


def kit_file(tmp_path, text, name="kit.toml"):
    path = tmp_path / name
    path.write_text(text)
    return str(path)


def test_a_kit_from_a_file(tmp_path):
    kit = load_kits(kit_file(tmp_path, KIT))
    assert kit.name == "drawer" and kit.body == pytest.approx(12.7) and kit.mark_deg == 90
    assert kit.offset_sd == pytest.approx(0.2 * THOU)
    assert kit.pairs() == pytest.approx([10 * THOU]) and len(kit.singles()) == 2


def test_a_kit_labelled_by_change_of_tir_holds_half_of_it(tmp_path):
    kit = load_kits(kit_file(tmp_path, 'labelled = "tir"\n[[size]]\noffset = "10thou"\n'))
    assert kit.pairs() == pytest.approx([5 * THOU])


def test_a_kit_may_say_its_pin_and_its_way_of_setting(tmp_path):
    kit = load_kits(kit_file(tmp_path, 'pin = "16mm"\nsetting = "free"\n[[size]]\noffset = "5thou"\n'))
    assert (kit.body, kit.way) == (16.0, "free")
    with pytest.raises(FitterError, match="leave one out"):
        load_kits(kit_file(tmp_path, 'pin = "16mm"\nbody = "16mm"\n[[size]]\noffset = "5thou"\n'))
    with pytest.raises(FitterError, match="'tight' or 'free'"):
        load_kits(kit_file(tmp_path, 'setting = "loose"\n[[size]]\noffset = "5thou"\n'))


def test_kits_at_hand_together_are_set_free_only_if_all_are_made_for_it(tmp_path):
    free = kit_file(tmp_path, 'setting = "free"\n[[size]]\noffset = "5thou"\n', "a.toml")
    other = kit_file(tmp_path, 'setting = "free"\n[[size]]\noffset = "7thou"\n', "b.toml")
    silent = kit_file(tmp_path, '[[size]]\noffset = "9thou"\n', "c.toml")
    assert [load_kits(text).way for text in (f"{free},{other}", f"{free},{silent}", silent)] == [
        "free", "tight", None,
    ]  # fmt: skip


def test_the_hole_says_which_kits_come_in_question(tmp_path):
    half = kit_file(tmp_path, 'name = "half"\npin = "0.5in"\n[[size]]\noffset = "5thou"\n', "a.toml")
    large = kit_file(tmp_path, 'name = "large"\npin = "16mm"\n[[size]]\noffset = "9thou"\n', "b.toml")
    kit = load_kits(f"{half},{large},7thou", hole=12.7)
    assert kit.pairs() == pytest.approx([5 * THOU, 7 * THOU]) and kit.aside == (("large", 16.0),)
    assert kit.body == pytest.approx(12.7)
    with pytest.raises(
        FitterError, match=r"no kit fits a dowel hole of 14 mm \(pins of half: 12.7 mm, large: 16 mm\)"
    ):
        load_kits(f"{half},{large}", hole=14.0)


def test_each_size_keeps_the_mark_of_its_kit(tmp_path):
    one = kit_file(tmp_path, 'mark_deg = 90\n[[size]]\noffset = "5thou"\n', "a.toml")
    other = kit_file(tmp_path, '[[size]]\noffset = "7thou"\n', "b.toml")
    kit = load_kits(f"{one},{other}")
    assert [kit.mark_of(offset * THOU) for offset in (5, 7)] == [90.0, 0.0]
    same = kit_file(tmp_path, '[[size]]\noffset = "5thou"\n', "c.toml")
    with pytest.raises(FitterError, match="one at a time"):
        load_kits(f"{one},{same}")


def test_several_kits_together(tmp_path):
    one = kit_file(tmp_path, '[[size]]\noffset = "5thou"\n', "a.toml")
    other = kit_file(tmp_path, '[[size]]\noffset = "7thou"\ncount = 2\n', "b.toml")
    assert load_kits(f"{one},{other},9thou").pairs() == pytest.approx([5 * THOU, 7 * THOU, 9 * THOU])


def test_kits_for_different_holes_are_not_planned_with_together(tmp_path):
    half = kit_file(tmp_path, 'body = "0.5in"\n[[size]]\noffset = "5thou"\n', "a.toml")
    same = kit_file(tmp_path, 'body = "12.7mm"\n[[size]]\noffset = "7thou"\n', "b.toml")
    large = kit_file(tmp_path, 'body = "0.625in"\n[[size]]\noffset = "9thou"\n', "c.toml")
    assert load_kits(f"{half},{same},9thou").body == pytest.approx(12.7)
    with pytest.raises(FitterError, match="different diameters"):
        load_kits(f"{half},{large}")


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("[[size]]\noffset = 5\n", "in quotes"),
        ('[[size]]\noffset = "5"\n', "no unit"),
        ('[[size]]\noffset = "5thou"\ncount = 1.5\n', "whole number"),
        ('[[size]]\noffset = "0thou"\n', "positive"),
        ('[[size]]\ncolour = "red"\noffset = "5thou"\n', "unknown key"),
        ('size = "5thou"\n', "tables"),
        ('labelled = "size"\n', "offset"),
        ('mark_deg = "up"\n', "angle"),
        ('kind = "x"\n', "unknown key"),
        ("", "no sizes"),
        ("=", "not proper TOML"),
    ],
)
def test_a_bad_kit_says_where_and_what(tmp_path, text, what):
    with pytest.raises(FitterError, match=what) as caught:
        load_kits(kit_file(tmp_path, text))
    assert "kit.toml" in str(caught.value) or "kit" in str(caught.value)


def test_a_missing_kit_is_named(tmp_path):
    with pytest.raises(FitterError, match="No such file"):
        load_kits(str(tmp_path / "nope.toml"))


@given(st.binary(max_size=80))
def test_any_file_is_a_kit_or_one_error(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("kits") / "k.toml"
    path.write_bytes(data)
    with pytest.raises((FitterError, LengthError)):
        load_kits(str(path))


def test_places_and_settings():
    assert parse_points("-5.5in,-1in 2mm,0mm") == [pytest.approx((-139.7, -25.4)), (2.0, 0.0)]
    assert parse_pins("-5.5in,-1in 5.5in,-1in").apart == pytest.approx(279.4)
    ring = parse_bolts("6@420mm@30")
    assert len(ring) == 6 and ring[0] == pytest.approx((105.0, 181.865), abs=1e-3)
    assert len(parse_bolts("1mm,0mm 0mm,1mm -1mm,0mm")) == 3
    assert parse_setting("5thou@165").degrees == (165.0, 165.0)
    assert parse_setting("10thou@28, 5thou@-70").degrees == (28.0, -70.0)


def test_a_dowel_may_have_a_decimal_comma_where_it_can_be_no_other():
    assert parse_setting("5,5thou@12:00") == parse_setting("5.5thou@12:00")
    assert parse_setting("5thou@9:00,5,5thou@12:00") == parse_setting("5thou@9:00,5.5thou@12:00")
    assert parse_setting("5,5thou@20,7thou@9:00") == parse_setting("5.5thou@20,7thou@9:00")
    for open_to_doubt in ("7thou@165,5,5thou@9:00", "7thou@165,5"):
        with pytest.raises(LengthError, match=r"'5' is no dowel: .*; a decimal comma is better a point here"):
            parse_setting(open_to_doubt)


def test_limits_are_lengths_or_published_ones():
    assert parse_limit("5thou").tir == pytest.approx(0.127) and parse_limit("1um").tir == pytest.approx(1e-3)
    assert parse_limit("0,127mm").tir == pytest.approx(0.127)
    assert parse_limit("SAE1/2").tir == pytest.approx(0.254)
    with pytest.raises(LengthError, match="sae00, sae0"):
        parse_limit("sae9")
    for none in ("0mm", "-5thou", "0.0000001um"):
        with pytest.raises(LengthError, match=r"no limit: it must be 0\.001mm or more"):
            parse_limit(none)


def test_a_direction_may_be_a_place_on_the_clock():
    assert parse_setting("5thou@9:00").degrees == (270.0, 270.0)
    assert parse_setting("5thou@12:00, 5thou@5:30").degrees == (0.0, 165.0)
    assert parse_shims("2thou@3:00") == ((90.0, pytest.approx(0.0508)),)
    assert parse_bolts("6@420mm@1:00")[0] == pytest.approx(parse_bolts("6@420mm@30")[0])
    for wrong in ("13:00", "0:30", "9:60"):
        with pytest.raises(LengthError):
            parse_setting(f"5thou@{wrong}")


def test_degrees_may_be_named_and_are_asked_for_where_an_hour_may_be_meant():
    for named in (
        "5thou@110deg",
        "5thou@110 degrees",
        "5thou@110\N{DEGREE SIGN}",
        "5thou@110",
        "5thou@110.0",
    ):
        assert parse_setting(named).degrees == (110.0, 110.0)
    assert [parse_direction(text) for text in ("3deg", "3.40deg", "-3", "0", "13", "0.5")] == [
        3,
        3.4,
        -3,
        0,
        13,
        0.5,
    ]
    for either, hour in (("3.40", "3:40"), ("3", "3:00"), ("12", "12:00"), ("3.75", "3:00")):
        with pytest.raises(
            LengthError, match=f"^'{either}' may be a clock .* {hour} for a clock, {either}deg for"
        ):
            parse_direction(either)
    assert parse_bolts("6@420mm@10deg") == parse_bolts("6@420mm@10")


def test_a_plain_dial_is_read_as_two_numbers_and_the_missing_one_is_asked_for():
    for text in ("9thou 3:40", " 9 thou  3:40 ", "9thou 110", "9 thou 110 deg", "9,0 thou 110"):
        assert parse_swing(text) == (pytest.approx(0.2286), 110.0)
    for text, says in (
        ("9thou", "9thou: where did it read highest"), ("9 thou", "where did it read highest"),
        ("3:40", "3:40: how much did it read"), ("110 deg", "how much"), ("9 3:40", "'9' has no unit"),
        ("9thou 3.40", "may be a clock"), ("3.40", "has no unit"), ("round", "is no length"),
    ):  # fmt: skip
        with pytest.raises(LengthError, match=says):
            parse_swing(text)


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (parse_points, "1mm"), (parse_pins, "0mm,0mm"), (parse_pins, "0mm,0mm 0mm,0mm"), (parse_bolts, "2@10mm"),
        (parse_bolts, "6@0mm"), (parse_bolts, "0@5mm"), (parse_setting, "5thou"), (parse_setting, "5thou@up"),
        (parse_setting, "0thou@50"), (parse_setting, "1mm@20,1mm@30,1mm@40"), (parse_setting, "5thou@inf"),
    ],
)  # fmt: skip
def test_bad_places_are_refused_in_words(parse, text):
    with pytest.raises(LengthError):
        parse(text)


@given(
    st.text(max_size=40), st.sampled_from([parse_points, parse_pins, parse_bolts, parse_setting, parse_limit])
)
def test_any_text_is_taken_or_refused(text, parse):
    try:
        parse(text)
    except LengthError as error:
        assert str(error)
