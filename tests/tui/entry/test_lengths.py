import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.entry.lengths import (
    UNITS,
    LengthError,
    half_width,
    number,
    own_unit,
    parse_kit,
    parse_length,
    plus_minus,
    says,
    show_length,
    written_length,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    [("5thou", 0.127), ("5 mil", 0.127), (".005in", 0.127), ("0.127mm", 0.127), ("127um", 0.127), ("127 µm", 0.127),
     ("0,127mm", 0.127), (",005 in", 0.127), ("-0,2mm", -0.2), ('1"', 25.4), ("-2 thou", -0.0508), ("1INCH", 25.4)],
)  # fmt: skip
def test_lengths_carry_their_unit(text, mm):
    assert parse_length(text) == pytest.approx(mm)


@pytest.mark.parametrize("text", ["5", ".005", "-3", "0,127"])
def test_a_bare_number_is_an_error_that_says_so(text):
    with pytest.raises(LengthError, match=f"has no unit: write {text}thou or {text}mm"):
        parse_length(text)


@pytest.mark.parametrize("text", ["0", "0.0", "-0", "0,00"])
def test_nothing_without_a_unit_is_not_told_to_be_written_with_one(text):
    with pytest.raises(LengthError, match=f"'{text}' has no unit: write it like 5thou"):
        parse_length(text)


@given(st.text(max_size=60))
def test_any_text_is_a_length_or_one_clear_error(text):
    try:
        parse_length(text)
    except LengthError as error:
        assert "like 5thou" in str(error) or "has no unit" in str(error)


@given(st.floats(-10, 10), st.sampled_from(UNITS))
def test_what_is_shown_can_be_read_back(mm, unit):
    shown = show_length(mm, unit)
    assert parse_length(shown) == pytest.approx(mm, abs=0.06 * 0.0254 if unit in ("thou", "in") else 0.0006)


def test_kits():
    assert parse_kit("5thou, 10thou,") == pytest.approx([0.127, 0.254])
    for bad in ("", "0thou", "-5thou", "5thou,x", "0,127mm", "5,5thou", "5thou,0,2mm"):
        with pytest.raises(LengthError):
            parse_kit(bad)
    with pytest.raises(LengthError, match="'-5thou' is no offset of a dowel"):
        parse_kit("6thou, -5thou")


def test_the_unit_of_a_typed_reading_is_its_own():
    assert [own_unit(text) for text in ("14 mil", '.014"', "14")] == ["thou", "in", ""]


def test_nothing_is_never_minus_nothing():
    assert number(-1e-9, "thou") == "0.0" and number(-1e-9, "mm", signed=True) == "0.000"


def test_an_interval_is_never_nothing():
    assert plus_minus(0.0254 * 0.23, "thou") == "+- 0.2 thou"
    assert plus_minus(0.0254 * 0.03, "thou") == "+- less than 0.1 thou"
    assert plus_minus(0.0002, "um") == "+- less than 1 um"
    assert half_width(0.0254 * 0.23, "thou") == "0.2 thou"
    assert half_width(0.0254 * 0.03, "thou") == "under 0.1 thou"


def test_only_digits_other_than_nought_say_something():
    assert says("+0.10") and says("9") and not says("-0.00") and not says("+0,0") and not says("")


@pytest.mark.parametrize("text", ["5thou", "7.5thou", "0.2mm", "12.7um", "5.5in", "-1in", "0.001mm", "16mm"])
def test_a_length_is_written_as_it_was_most_likely_typed_and_never_another(text):
    written = written_length(parse_length(text))
    assert parse_length(written) == pytest.approx(parse_length(text), rel=1e-6)
    assert written == text or text == "12.7um"
