"""Rules of fitting and planning, each at the edge where it begins to hold."""

import math
from itertools import product

import numpy as np
import pytest
from making import THOU
from scipy import stats

from coaxly.fitter import Fitter, Setup, TooFewStations
from coaxly.fitter.certainty.decision import judge
from coaxly.fitter.dowels.bothways import Sweeps
from coaxly.fitter.dowels.compare import compare
from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.measurement import Measurement
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Measured, Workshop, advice, plan
from coaxly.fitter.dowels.setting import DowelSetting, angle_window, carried, contributions
from coaxly.fitter.dowels.split import best_settings
from coaxly.fitter.fitting.model import supported_harmonics
from coaxly.fitter.geometry import clock, difference, direction, polar, unit
from coaxly.fitter.reading.stations import EnteredStations
from coaxly.fitter.result import Eccentricity

PINS = Pins((-140.0, -25.0), (140.0, -60.0))


def stations(degrees, read=lambda deg: 0.0):
    table = EnteredStations()
    for k, deg in enumerate(degrees):
        table.add(deg, np.array([float(read(deg))]), np.array([float(k)]))
    return table.table()


def arc(over, count):
    return stations(np.linspace(0.0, over, count))


# How much an arc can carry ---------------------------------------------------------------------


def test_from_some_60_degrees_an_arc_tells_the_offset():
    with pytest.raises(TooFewStations):
        supported_harmonics(arc(50.0, 20))
    assert supported_harmonics(arc(75.0, 20)) == 1


def test_from_some_150_degrees_an_arc_carries_an_oval():
    assert supported_harmonics(arc(120.0, 30)) == 1
    assert supported_harmonics(arc(190.0, 30)) >= 2


# Bad stations ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("size", "looks"), [(5.0, "high"), (-5.0, "low")])
def test_a_high_station_is_a_burr_and_a_low_one_a_hole(size, looks):
    fitter = Fitter(Setup())
    noise = np.random.default_rng(4).normal(0.0, 0.1 * THOU, 12)
    for k in range(12):
        read = 0.1 * unit(30.0 * k)[1] + size * THOU * (k == 4) + noise[k]
        fitter.add_station(30.0 * k, np.array([read]), np.array([float(k)]))
    (only,) = fitter.result().checks.outliers
    assert only.deg == 120.0 and only.like == looks


# Dowels ----------------------------------------------------------------------------------------------


def measured(surface="inside", amount=7.0, towards=250.0, form=0.0, limit=5.0):
    fitter = Fitter(Setup.from_header({"surface": surface, "limit_mm": limit * THOU}))
    sign = -1.0 if surface == "inside" else 1.0
    ex, ey = polar(amount * THOU, towards)
    for k in range(12):
        x, y = unit(30.0 * k)
        lobe = form / 2.0 * THOU * math.cos(math.radians(60.0 * k))
        fitter.add_station(30.0 * k, np.array([sign * (ex * x + ey * y) + lobe]), np.array([float(k)]))
    result = fitter.result()
    return Measured.of(fitter.setup, result, fitter.stations(), limit * THOU)


@pytest.mark.parametrize("surface", ["inside", "outside"])
def test_the_right_pair_leaves_no_swing_on_either_surface(surface):
    best = plan(measured(surface), Workshop(Kit.of([7 * THOU, 10 * THOU])))[0]
    assert [dowel.offset for dowel in best.dowels] == [7 * THOU] * 2
    assert difference(best.dowels[0].deg, 70.0) == pytest.approx(0.0, abs=1e-6)
    assert best.predicted.tir_swept == pytest.approx(0.0, abs=1e-9)


def test_what_is_left_of_the_offset_shows_twice_on_the_dial():
    best = plan(measured(towards=240.0), Workshop(Kit.of([5 * THOU])))[0]
    assert best.predicted.tir_fitted == pytest.approx(2 * 2 * THOU, abs=1e-9)
    assert best.predicted.tir_swept == pytest.approx(2 * 2 * THOU, abs=1e-9)


def test_a_pair_that_just_meets_the_limit_at_its_mark_has_a_window():
    e, limit = 7 * THOU, 4 * THOU
    assert angle_window(e, 5 * THOU, limit) == pytest.approx(0.0, abs=1e-4)
    assert angle_window(e, 4.99 * THOU, limit) is None
    assert angle_window(0.0, 2 * THOU, limit) == 180.0 and angle_window(0.0, 2.01 * THOU, limit) is None


def test_out_of_round_beyond_the_limit_is_beyond_dowels():
    for form, told in ((4.5, False), (5.5, True)):
        what = measured(form=form)
        workshop = Workshop(Kit.of([7 * THOU]))
        kinds = [remark.kind for remark in advice(what, workshop, plan(what, workshop))]
        assert ("form_beyond_dowels" in kinds) == told


def test_beyond_the_kit_is_told_from_between_its_sizes():
    """The largest pair and half the limit reach 12.5 thou."""
    for amount, kinds in ((12.2, []), (12.49, ["no_size_in_kit"]), (12.7, ["beyond_kit"])):
        what = measured(amount=amount)
        workshop = Workshop(Kit.of([3 * THOU, 10 * THOU]))
        found = advice(what, workshop, plan(what, workshop))
        assert [remark.kind for remark in found] == kinds


def test_errors_of_setting_spread_the_shift_as_they_do_by_chance():
    setting = DowelSetting((10 * THOU, 6 * THOU), (20.0, 75.0))
    influence = PINS.influence()
    dice = np.random.default_rng(8)
    shifts = []
    for _ in range(20_000):
        offsets = tuple(d + dice.normal(0.0, 0.8 * THOU) for d in setting.offsets)
        degrees = tuple(deg + dice.normal(0.0, 3.0) for deg in setting.degrees)
        shifts.append(np.add(*contributions(DowelSetting(offsets, degrees), influence)))
    expected = np.cov(np.array(shifts).T)
    _, (spread,) = carried([setting], influence, 0.8 * THOU, 3.0)
    assert spread == pytest.approx(expected, rel=0.08, abs=2e-6)


# Split pairs ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("towards", range(0, 360, 40))
def test_no_split_pair_binds_or_turns_more_than_it_may(towards):
    vector = np.array(polar(9.0 * THOU, float(towards)))
    clearance, turn = 0.5 * THOU, 0.0006
    for setting in best_settings(
        vector, [(15 * THOU, 5 * THOU), (5 * THOU, 15 * THOU)], PINS, (clearance,), turn, 0.05
    ):
        s1, s2 = (np.array(polar(d, deg)) for d, deg in zip(setting.offsets, setting.degrees, strict=True))
        assert abs(float(PINS.bind(s1, s2))) <= clearance * (1 + 1e-9)
        assert abs(float(PINS.turn(s1, s2))) <= turn * (1 + 1e-9)


def test_a_turn_that_is_allowed_is_made_use_of_and_no_more():
    vector = np.array(polar(9.0 * THOU, 200.0))
    turns = []
    for limit in (0.0003, 0.002):
        (setting,) = best_settings(vector, [(15 * THOU, 10 * THOU)], PINS, (5 * THOU,), limit, 0.0)
        s1, s2 = (np.array(polar(d, deg)) for d, deg in zip(setting.offsets, setting.degrees, strict=True))
        turns.append(abs(float(PINS.turn(s1, s2))))
    assert turns[0] <= 0.0003 < turns[1] <= 0.002


def test_alike_dowels_go_into_holes_that_give_nothing():
    assert len(best_settings(np.array([0.1, 0.1]), [(0.1, 0.1)], PINS, (0.0,), 1e-9, 0.0)) == 1


def test_angles_are_chosen_with_the_errors_of_setting_in_mind():
    """By a fine grid: the expected square of what is left, setting errors of 15 degrees included."""
    vector, sizes, sd = np.array(polar(6.0 * THOU, 120.0)), (15 * THOU, 10 * THOU), math.radians(15.0)
    pins = Pins((-40.0, 150.0), (30.0, 220.0))
    A = pins.influence()

    def expected(setting):
        left = vector + np.add(*contributions(setting, A))
        across = [
            a @ np.array(polar(d, deg + 90.0)) for a, d, deg in zip(A, sizes, setting.degrees, strict=True)
        ]
        return float(left @ left) + sd**2 * sum(float(c @ c) for c in across)

    (chosen,) = best_settings(vector, [sizes], pins, (1.0,), 1.0, sd)
    grid = range(0, 360, 3)
    best = min(expected(DowelSetting(sizes, (float(a), float(b)))) for a, b in product(grid, grid))
    assert expected(chosen) <= best * 1.001


# Proof -------------------------------------------------------------------------------------------------------


def sweep(vector, covariance):
    deg = direction(-vector[0], -vector[1])
    return Eccentricity(
        amount=math.hypot(*vector), unbiased=0.0, high_deg=deg, high_clock=clock(deg), move_deg=deg,
        move_clock=clock(deg), vector=vector, covariance=covariance, freedom=None, u95_amount=0.1, u95_deg=5.0,
        detected=True, detectable=0.1,
    )  # fmt: skip


def test_the_region_of_a_difference_is_longest_where_least_is_known():
    """Known to 0.01 mm across 45 degrees and to 0.03 along it, in each of two sweeps; no plan, so no dowel
    adds to it: 95 % of the plane lie within 2.448 standard deviations."""
    along = np.array(unit(45.0))
    across = np.array(unit(135.0))
    matrix = 0.03**2 * np.outer(along, along) + 0.01**2 * np.outer(across, across)
    covariance = tuple(map(tuple, matrix.tolist()))
    dowel = 1e-6
    comparison = compare(
        Sweeps.of(sweep((0.3, 0.0), covariance), sweep((0.3, 0.0), covariance)), DowelSetting((dowel, dowel), (0.0, 0.0)),
        kit=Kit("exact", Kit.of([1.0]).sizes, offset_sd=0.0),
    )  # fmt: skip
    region = comparison.difference
    assert region.axis_deg == pytest.approx(45.0, abs=0.01)
    factor = math.sqrt(-2.0 * math.log(0.05)) * math.sqrt(2.0)
    assert region.semi_axes == pytest.approx((0.03 * factor, 0.01 * factor), rel=1e-3)


def test_a_loose_kit_forgives_what_an_exact_one_does_not():
    tight = ((1e-6, 0.0), (0.0, 1e-6))
    goal = DowelSetting((0.2, 0.2), (0.0, 0.0))
    within = []
    for offset_sd in (0.001, 0.05):
        kit = Kit("k", Kit.of([0.2]).sizes, offset_sd=offset_sd)
        comparison = compare(Sweeps.of(sweep((0.0, -0.2), tight), sweep((0.0, 0.04), tight)), goal, kit=kit)
        within.append(comparison.difference.within)
    assert within == [False, True]


@pytest.mark.parametrize("freedom", [math.inf, 4.0])
def test_likelihoods_are_those_of_the_plane(freedom):
    """Against scipy's bivariate normal and Student densities."""
    shift, goal = np.array([0.12, -0.05]), np.array([0.1, 0.02])
    known, spread = np.array([[4e-3, 1e-3], [1e-3, 2e-3]]), np.diag([1e-3, 3e-3])
    if math.isinf(freedom):
        expected = stats.multivariate_normal(goal, known + spread).pdf(shift)
    else:
        expected = stats.multivariate_t(goal, known + spread, df=freedom).pdf(shift)
    assert Measurement(shift, known, freedom).likelihood(goal, spread) == pytest.approx(expected, rel=1e-9)


# Verdicts and corrections ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("probability", "state"),
    [
        (1.0, "inside"),
        (0.951, "inside"),
        (0.949, "unsure"),
        (0.3, "unsure"),
        (0.051, "unsure"),
        (0.049, "outside"),
    ],
)
def test_a_verdict_is_given_from_95_percent_either_way(probability, state):
    assert judge(probability) == state


@pytest.mark.parametrize(("surface", "sign"), [("inside", -1.0), ("outside", 1.0)])
def test_the_droop_of_the_arm_is_taken_out_by_its_own_sign(surface, sign):
    """The arm hangs low by 0.05 mm: at 12 o'clock of a bore the dial is farther from the wall and reads less,
    on a spigot it is pressed on and reads more. The housing itself is true."""
    fitter = Fitter(Setup.from_header({"surface": surface, "sag_mm": 0.05}))
    for k in range(8):
        _, up = unit(45.0 * k)
        fitter.add_station(45.0 * k, np.array([sign * 0.05 * up]), np.array([float(k)]))
    assert fitter.result().eccentricity.vector == pytest.approx((0.0, 0.0), abs=1e-9)
