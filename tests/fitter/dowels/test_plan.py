import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.fitter import Setup
from coaxly.fitter.dowels.kit import Kit, KitError
from coaxly.fitter.dowels.plan import Measured, Workshop
from coaxly.fitter.dowels.plan import plan as plan_with
from coaxly.fitter.dowels.setting import angle_window
from coaxly.fitter.geometry import polar
from coaxly.fitter.reading.stations import EnteredStations
from coaxly.fitter.units import MM_PER_THOU as THOU


def measured(tir_thou, high_deg=40.0, limit_thou=5.0, sd_thou=0.2, **kw):
    vector = polar(tir_thou * THOU / 2, high_deg + 180)
    stations = EnteredStations()
    for k in range(8):
        rad = math.radians(45 * k)
        value = -vector[0] * math.sin(rad) - vector[1] * math.cos(rad)
        stations.add(45.0 * k, np.array([value]), np.array([float(k)]))
    return Measured(Setup(), vector, np.eye(2) * (sd_thou * THOU) ** 2, math.inf, stations.table(),
                    limit_thou * THOU, **kw)  # fmt: skip


def plan(measured, kit):
    return plan_with(measured, Workshop(Kit.of(kit)))


def best(tir_thou, kit, **kw):
    return plan(measured(tir_thou, **kw), [k * THOU for k in kit])[0]


PRINTED = [(range(11, 22), 7), (range(22, 36), 14), (range(36, 53), 21)]


@pytest.mark.parametrize(("tir", "size"), [(tir, size) for tirs, size in PRINTED for tir in tirs])
def test_printed_dowel_table(tir, size):
    """2002 Dodge Dakota service manual, clutch housing bore runout, p. 6-8 to 6-9: dowel by TIR in
    thou (.011-.021: .007, .022-.035: .014, .036-.052: .021), goal afterwards less than .010."""
    option = best(tir, [7, 14, 21], limit_thou=10.0)
    assert option.pair == "parallel"
    assert option.dowels[0].offset == pytest.approx(size * THOU)


def test_common_practice_example():
    """TIR .011, a parallel pair of .004 at the high point leaves .003 (common practice, no source)."""
    option = best(11, [4])
    assert option.predicted.tir_fitted == pytest.approx(3 * THOU)
    assert option.window_deg == pytest.approx(24.62, abs=0.005)
    assert option.dowels[0].deg == pytest.approx(40.0)
    assert option.dowels[0].clock == "1:20"
    assert option.dowels[0] == option.dowels[1]


def test_none_is_always_an_option_and_best_when_the_housing_is_good():
    assert best(1.0, [5, 10]).pair == "none"
    pairs = [option.pair for option in plan(measured(12), [5 * THOU])]
    assert sorted(pairs) == ["none", "parallel"]


@pytest.mark.parametrize(("sd", "judged"), [(0.1, "inside"), (0.4, "as_it_stands")])
def test_without_dowels_a_housing_is_inside_as_surely_as_the_sweep_says(sd, judged):
    """2 thou off its limit of 2.5, so that what is left over counts in standard deviations of the sweep."""
    (option,) = [each for each in plan(measured(4.0, sd_thou=sd), [5 * THOU]) if each.pair == "none"]
    rng = np.random.default_rng(1)
    off = np.hypot(2.0 + rng.normal(0.0, sd, 200_000), rng.normal(0.0, sd, 200_000))
    assert option.judged == judged
    assert option.probability == pytest.approx(float((off <= 2.5).mean()), abs=0.02)


def test_nothing_is_fitted_to_a_direction_that_was_not_found():
    option = best(4.0, [2], sd_thou=3.0, detected=False)
    assert option.pair == "none" and option.judged == "nothing_found"


@given(st.floats(0.01, 0.5), st.floats(0.01, 0.5), st.floats(0.02, 0.3), st.floats(0, 1))
def test_the_window_is_where_the_limit_is_met(e, d, limit, share):
    window = angle_window(e, d, limit)
    remains = lambda deg: 2 * math.hypot(e - d * math.cos(math.radians(deg)), d * math.sin(math.radians(deg)))  # noqa: E731
    if window is None:
        assert remains(0.0) >= limit * (1 - 1e-9)
    else:
        assert remains(window * share) <= limit * (1 + 1e-9) + 1e-9
        if window < 179.0:
            assert remains(min(window + 1.0, 180.0)) > limit * (1 - 1e-9)


def test_no_eccentricity_leaves_what_the_dowel_brings():
    assert angle_window(0.0, 0.05, 0.127) == 180.0
    assert angle_window(0.0, 0.07, 0.127) is None


def test_an_offset_of_nothing_is_refused():
    with pytest.raises(KitError, match="must be positive"):
        plan(measured(12), [0.0])
