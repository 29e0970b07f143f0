import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.fitter import Setup, SetupError


def test_defaults_are_those_of_common_practice():
    setup = Setup.from_header({})
    assert (setup.surface, setup.polarity, setup.view, setup.sense) == ("inside", 1, "rear", "cw")
    assert setup.limit_mm == 0.127 and setup.dwell_s == 0.5


@pytest.mark.parametrize(
    ("view", "sense", "sign"),
    [("rear", "cw", 1), ("front", "ccw", 1), ("rear", "ccw", -1), ("front", "cw", -1)],
)
def test_angles_count_by_view_and_sense(view, sense, sign):
    setup = Setup.from_header({"view": view, "sense": sense, "zero_deg": 30.0})
    assert setup.internal_deg(45.0) == 30.0 + sign * 45.0


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("surface", "both"),
        ("polarity", 2),
        ("polarity", True),
        ("limit_mm", 0),
        ("limit_mm", "5"),
        ("dwell_s", -1),
        ("tip_angle_deg", 90),
        ("zero_sd_deg", 91),
        ("engine_tilt_deg", 181),
        ("closing", 1),
        ("calibration", [[0, 1], [0, 2]]),
        ("calibration", [[0, float("nan")]]),
        ("sag_mm", 10**400),
    ],
)
def test_a_value_that_cannot_be_meant_names_its_key(key, value):
    with pytest.raises(SetupError, match=key) as caught:
        Setup.from_header({key: value})
    assert caught.value.key == key


def test_unknown_keys_are_kept_aside():
    assert Setup.from_header({"colour": "blue"}).unknown == ("colour",)


SCALARS = st.none() | st.booleans() | st.floats() | st.text(max_size=5) | st.integers()
VALUES = SCALARS | st.lists(SCALARS, max_size=3) | st.lists(st.lists(SCALARS, max_size=3), max_size=3)


@given(st.dictionaries(st.sampled_from(list(Setup.__dataclass_fields__)), VALUES, max_size=3))
def test_any_setup_is_taken_or_refused_in_words(table):
    try:
        Setup.from_header(table)
    except SetupError as error:
        assert error.key in table
