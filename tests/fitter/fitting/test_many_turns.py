"""A sweep that went round all day: what its result costs, and that it is the same as by the book."""

import time
import tracemalloc
from functools import partial

import numpy as np
import pytest
from bench.coverage import Scenario, judge
from chances import Tries, keeps
from factoring import unscaled
from hypothesis import given
from hypothesis import strategies as st

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.fitting.model import fit
from coaxly.fitter.numeric.leastsquares import LeastSquares
from coaxly.fitter.reading import checks

THOU = 0.0254


def turns(count, seed=1, there_and_back=False):
    rng = np.random.default_rng(seed)
    fitter = Fitter(Setup())
    for k in range(count):
        deg = 360.0 * k + np.arange(720) / 2.0
        if there_and_back and k % 2:
            deg = 360.0 * (k + 1) - np.arange(720) / 2.0
        value = 1.0 - 0.1 * np.sin(np.deg2rad(deg)) + rng.normal(0, 0.005, 720)
        fitter.add_track(deg, value, np.arange(720) / 100.0 + 7.2 * k)
    return fitter


def test_three_hundred_turns_need_neither_memory_nor_patience():
    turns(10).result()  # what is loaded at the first use is no part of it
    fitter = turns(300)
    stations = fitter.stations()
    tracemalloc.start()
    began = time.process_time()
    result = fitter.result()
    took = time.process_time() - began
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    # A square table of 21,600 sectors would be 3.7 GB; what comes after a hundred turns is pooled.
    assert len(stations) == result.stations == 101 * 72
    assert result.turns == 300
    assert peak < 100e6 and took < 10.0


def by_the_book(stations, kind):
    away = np.abs(np.mod(stations.deg[:, None] - stations.deg[None, :] + 180.0, 360.0) - 180.0)
    if kind == "opposed":
        other = [checks.at(stations, deg + 180.0) for deg in stations.deg.tolist()]
        return max(
            (abs(v - o) for v, o in zip(stations.value, other, strict=True) if o is not None), default=None
        )
    i, j = np.nonzero((away <= 3.0) & (stations.sense > 0)[:, None] & (stations.sense < 0)[None, :])
    return float((stations.value[i] - stations.value[j]).mean()) if len(i) >= 3 else None


@given(st.lists(st.one_of(st.integers(0, 12).map(lambda k: 30.0 * k % 360.0), st.floats(0, 359.9)), max_size=24),
       st.integers(0, 99))  # fmt: skip
def test_opposed_and_hysteresis_are_those_of_all_pairs(angles, seed):
    rng = np.random.default_rng(seed)
    fitter = Fitter(Setup())
    for k, deg in enumerate(angles):
        fitter.add_station(deg, rng.normal(size=1), np.array([float(k)]))
    stations = fitter.stations()
    for kind in ("opposed", "hysteresis"):
        expected = by_the_book(stations, kind)
        found = getattr(checks, kind)(stations)
        assert found == (None if expected is None else pytest.approx(expected, rel=1e-9, abs=1e-12))


def test_opposed_and_hysteresis_of_many_turns_are_those_of_all_pairs():
    stations = turns(4, there_and_back=True).stations()
    for kind in ("opposed", "hysteresis"):
        assert getattr(checks, kind)(stations) == pytest.approx(by_the_book(stations, kind), rel=1e-9)


@pytest.mark.parametrize("count", [1, 8])
def test_rows_are_fitted_as_row_by_row(count):
    stations = turns(count).stations()
    at_once = fit(stations, 6, [stations.t / stations.t[-1]])
    one_by_one = LeastSquares(at_once.design.shape[1])
    one_by_one.add_rows(np.column_stack([at_once.design, stations.value]).tolist())
    assert at_once.freedom == one_by_one.freedom
    assert at_once.coefficients == pytest.approx(one_by_one.solution(), rel=1e-9, abs=1e-14)
    assert at_once.residual_sum == pytest.approx(one_by_one.residual_sum, rel=1e-9)
    np.testing.assert_allclose(at_once.unscaled, unscaled(one_by_one), rtol=1e-9, atol=1e-14)


@pytest.mark.usefixtures("fit_alone")
def test_error_bars_of_a_continuous_sweep_with_a_closing_sector_hold_the_truth():
    scenario = Scenario("", lambda rng: np.linspace(0, 365, 3650, endpoint=False), continuous=True, drift=2 * THOU,
                        setup={"closing": True})  # fmt: skip
    sweeps = Tries(partial(judge, scenario), 20_000)
    assert keeps(sweeps.column(0)) and keeps(sweeps.column(1))


@pytest.mark.usefixtures("fit_alone")
def test_rows_do_not_grow_with_the_turns_for_ever():
    """Beyond a hundred turns each sector and sense has one row more, and nothing that was read is lost."""
    rng = np.random.default_rng(4)
    deg = np.arange(250 * 144) * 2.5
    value = 1.0 - 0.1 * np.sin(np.deg2rad(deg)) + rng.normal(0.0, 0.005, len(deg))
    t = np.arange(len(deg)) / 100.0
    whole, bits, live = (Fitter(Setup()) for _ in range(3))
    whole.add_track(deg, value, t)
    for part in np.split(np.arange(len(deg)), [1, 5, 14_000, 14_403, 14_404, 20_000]):
        bits.add_track(deg[part], value[part], t[part])
        live.add_track(deg[part], value[part], t[part])
        live.estimate()
    for k in range(40):
        one = (np.array([deg[-1] + 2.5 * (k + 1)]), value[k : k + 1], np.array([t[-1] + 0.01 * (k + 1)]))
        whole.add_track(*one)
        bits.add_track(*one)
        live.add_track(*one)
        live.estimate()
    stations = whole.stations()
    assert len(stations) == 101 * 72
    assert stations.count.sum() == whole.samples == len(deg) + 40
    result = whole.result()
    assert result == bits.result() == live.result()
    assert whole.estimate() == live.estimate()
    assert result.eccentricity.vector == pytest.approx((0.1, 0.0), abs=0.001)
