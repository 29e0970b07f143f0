"""Whatever was said of several sweeps, and in whatever order: one setup stands for all."""

import math
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.fitter import Setup, SetupError
from coaxly.fitter.fitting.together import joined
from coaxly.fitter.keys import Calibration, Choice, Lengths, Number, Several, Share, Words, YesNo, keys_of
from coaxly.fitter.reading.joining import same
from coaxly.fitter.reading.shopstudy import OfShop, ShopStudy

KEYS = keys_of(Setup)


def values(name):
    """Anything that a key takes."""
    one = KEYS[name]
    match one.kind:
        case Number(least, greatest):
            numbers = st.floats(least, min(greatest, 1e6), exclude_min=one.kind.above, allow_subnormal=False)
            return numbers | st.none() if one.usual is None else numbers
        case Choice(options):
            return st.sampled_from(options)
        case YesNo():
            return st.booleans()
        case Words():
            return st.text(max_size=3)
        case Several(options):
            return st.lists(st.sampled_from(options), max_size=3).map(tuple)
        case Lengths():
            return st.lists(st.floats(-5, 5), max_size=3).map(tuple)
        case Calibration():
            pair = st.tuples(st.integers(-9, 9).map(float), st.floats(-0.1, 0.1))
            return st.lists(pair, max_size=3, unique_by=lambda pair: pair[0]).map(sorted).map(tuple)
        case OfShop():
            return st.none() | st.builds(ShopStudy, st.integers(0, 9))
    raise AssertionError(one.kind)


def close(one, two):
    if isinstance(one, float) and isinstance(two, float):
        return math.isclose(one, two, rel_tol=1e-12, abs_tol=1e-12)
    return one == two


@st.composite
def sweeps(draw, name):
    """Three that differ in one key, with unlike weights."""
    parts = draw(st.lists(st.floats(0.05, 1.0), min_size=3, max_size=3))
    return [
        Share(Setup(**{name: draw(values(name))}), part / sum(parts), part / sum(parts)) for part in parts
    ]


@pytest.mark.parametrize("name", KEYS)
def test_no_key_hangs_on_the_order_of_the_sweeps(name):
    @given(sweeps(name))
    def holds(shares):
        try:
            first = joined(shares)
        except SetupError:
            assert KEYS[name].joins is same
            return
        for order in permutations(shares):
            again = joined(order)
            for key in KEYS:
                assert close(getattr(again, key), getattr(first, key)), key

    holds()


def test_every_key_of_a_setup_says_how_it_joins():
    assert [name for name, one in KEYS.items() if one.joins is None] == []


@pytest.mark.parametrize("name", KEYS)
def test_sweeps_that_say_the_same_keep_it(name):
    @given(values(name))
    def holds(value):
        setup = Setup(**{name: value})
        one = joined([Share(setup, 0.25, 0.5), Share(setup, 0.75, 0.5)])
        if name != "repeatability_mm":
            assert one == setup
        else:
            assert one.repeatability_mm == pytest.approx(math.hypot(0.25, 0.75) * value)

    holds()


def join(name, *found, weights=None):
    weights = weights or [1.0 / len(found)] * len(found)
    setups = [Setup(**(each if isinstance(each, dict) else {name: each})) for each in found]
    return getattr(joined([Share(s, w, w) for s, w in zip(setups, weights, strict=True)]), name)


def test_a_sweep_that_does_not_say_how_it_repeats_is_no_better_than_those_that_do():
    assert join("repeatability_mm", 0.02, 0.0) == pytest.approx(math.hypot(0.01, 0.01))
    known = {"repeatability_mm": 0.01, "repeatability_freedom": 3.0}
    assert join("repeatability_freedom", known, {}) == 3.0


def test_weight_counts_for_the_sweeps_that_it_pulls_in():
    lying, standing = {"bearing_clearance_mm": 0.1}, {"bearing_clearance_mm": 0.3, "crank": "upright"}
    assert join("bearing_clearance_mm", lying, standing) == pytest.approx(0.05)
    assert join("crank", standing, lying) == "level"


def test_the_strictest_limit_counts_with_its_source():
    strict, lax = {"limit_mm": 0.1, "limit_source": "maker"}, {"limit_mm": 0.2, "limit_source": "us"}
    assert (join("limit_mm", lax, strict), join("limit_source", lax, strict)) == (0.1, "maker")


@pytest.mark.parametrize(("one", "other", "between"), [(10.0, 20.0, 15.0), (175.0, -175.0, 180.0)])
def test_a_tilt_is_between_those_of_the_sweeps(one, other, between):
    assert join("engine_tilt_deg", one, other) == pytest.approx(between)


@pytest.mark.parametrize("name", ["feature", "surface"])
def test_sweeps_of_unlike_surfaces_are_not_put_together(name):
    one, other = KEYS[name].kind.options[:2]
    with pytest.raises(SetupError, match=f"{name} is .*the same in all sweeps"):
        join(name, one, other)
