"""How far a housing has to go, from what the dial reads where the crank is parked."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from nudging import aim, reads

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.aim import Aim
from coaxly.fitter.geometry import polar, unit
from coaxly.fitter.units import MM_PER_THOU as THOU


@given(st.floats(0.05, 0.4), st.floats(0.0, 359.0), st.floats(0.0, 0.3), st.floats(0.0, 359.0))
def test_what_is_to_go_towards_a_place_is_the_offset_along_it_wherever_the_housing_was_tapped_to(
    e, at, f, to
):
    was, now = polar(e, at), polar(f, to)
    goes_by = aim(was)
    for deg in (goes_by.high_deg, goes_by.high_deg + 90.0):
        along = unit(deg)
        way = goes_by.to_go(deg, reads(now, deg), 0.0)
        assert way == pytest.approx(-(now[0] * along[0] + now[1] * along[1]), abs=0.05 * THOU)


def test_at_the_high_point_the_dial_must_fall_by_the_offset_and_a_quarter_turn_on_read_the_mean():
    goes_by = aim(polar(0.2, 210.0), oval=0.0)
    high = goes_by.high_deg
    assert high == pytest.approx(30.0, abs=0.1)
    assert goes_by.expected(high) - goes_by.wanted(high) == pytest.approx(0.2, abs=1e-6)
    assert goes_by.wanted(high + 90.0) == pytest.approx(0.8, abs=1e-6)


def test_the_form_of_the_sweep_is_taken_in():
    """Of an oval bore on the crank the dial reads the oval, not the mean."""
    goes_by = aim(polar(0.2, 210.0), oval=2.0 * THOU)
    for deg in (30.0, 120.0):
        assert goes_by.to_go(deg, reads((0.0, 0.0), deg, oval=2.0 * THOU), 0.0) == pytest.approx(
            0.0, abs=0.02 * THOU
        )


def test_a_dial_that_was_set_anew_is_tied_to_the_sweep_by_one_reading():
    was, now = polar(0.2, 210.0), (0.02, -0.01)
    goes_by = aim(was)
    shift = goes_by.shift(30.0, reads(was, 30.0, mean=2.5))
    assert shift == pytest.approx(1.7, abs=1e-6)
    along = unit(120.0)
    way = goes_by.to_go(120.0, reads(now, 120.0, mean=2.5), shift)
    assert way == pytest.approx(-(now[0] * along[0] + now[1] * along[1]), abs=0.02 * THOU)


def test_sag_and_a_crank_that_rests_low_are_not_tapped_away():
    """The bore goes to the centre of the main bearings; the dial's droop stays in its readings."""
    setup = Setup(sag_mm=0.05, bearing_clearance_mm=0.04)
    goes_by = aim(polar(0.2, 80.0), setup, sag=0.05)
    # The bore's centre seen from where the crank rests: .02 above it.
    right = (0.0, 0.02)
    for deg in (goes_by.high_deg, goes_by.high_deg + 90.0, 0.0):
        assert goes_by.to_go(deg, reads(right, deg, sag=0.05), 0.0) == pytest.approx(0.0, abs=0.02 * THOU)


def test_on_an_outside_surface_a_high_reading_is_the_near_side_too():
    setup = Setup(surface="outside")
    was = polar(0.2, 210.0)
    goes_by = aim(was, setup, sign=1.0)
    assert goes_by.high_deg == pytest.approx(210.0, abs=0.5)
    assert goes_by.to_go(210.0, reads(was, 210.0, sign=1.0), 0.0) == pytest.approx(-0.2, abs=0.02 * THOU)


@pytest.mark.parametrize(("places", "harmonics"), [(3, 1), (5, 1), (6, 2), (8, 3), (10, 4), (12, 4), (36, 4)])
def test_as_much_form_is_taken_in_as_the_stations_show_and_no_more_than_the_fourth_harmonic(
    places, harmonics
):
    fitter = Fitter(Setup())
    for k in range(places):
        fitter.add_station(
            360.0 / places * k, np.array([reads((0.1, 0.0), 360.0 / places * k)]), np.array([float(k)])
        )
    found = Aim.of(fitter.setup, fitter.result(), fitter.stations())
    assert len(found.coefficients) == 1 + 2 * harmonics


def test_a_place_that_was_read_twice_is_one_place():
    fitter = Fitter(Setup())
    for k in range(12):
        fitter.add_station(60.0 * k, np.array([reads((0.1, 0.0), 60.0 * k)]), np.array([float(k)]))
    assert len(Aim.of(fitter.setup, fitter.result(), fitter.stations()).coefficients) == 5
