import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.fitter.geometry import clock, difference, direction, polar, unit, wrap
from coaxly.fitter.units import from_mm, to_mm

ANGLE = st.floats(-1e6, 1e6)


@pytest.mark.parametrize(
    ("deg", "text"),
    [
        (0, "12:00"),
        (165, "5:30"),
        (90, "3:00"),
        (359.9, "12:00"),
        (359.5, "11:59"),
        (-90, "9:00"),
        (15, "12:30"),
    ],
)
def test_clock_text_is_thirty_degrees_an_hour(deg, text):
    assert clock(deg) == text


@given(ANGLE)
def test_wrap_stays_in_one_turn(deg):
    assert 0.0 <= wrap(deg) < 360.0


@given(ANGLE, ANGLE)
def test_difference_is_the_short_way_round(a, b):
    assert -180.0 <= difference(a, b) < 180.0


@given(st.floats(0.0, 359.9999), st.floats(1e-3, 1e3))
def test_direction_undoes_polar(deg, length):
    assert abs(difference(direction(*polar(length, deg)), deg)) < 1e-9


def test_three_o_clock_is_to_the_right_and_twelve_up():
    assert unit(90.0) == pytest.approx((1.0, 0.0))
    assert unit(0.0) == pytest.approx((0.0, 1.0))


def test_units_are_exact():
    """1 in = 25.4 mm, international yard and pound agreement, 1959."""
    assert to_mm(1.0, "in") == 25.4
    assert to_mm(5.0, "thou") == pytest.approx(0.127, rel=1e-15)
    assert from_mm(0.127, "um") == pytest.approx(127.0)
    with pytest.raises(ValueError, match="thou, in, mm or um"):
        to_mm(1.0, "furlong")
