"""What a closing reading tells and what it does not: knocks too small to be named, and lags."""

import math
from functools import partial

import numpy as np
import pytest
from bench.coverage import Scenario, evenly, judge
from bench.faults import surface
from chances import Tries, keeps
from remarking import kinds

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.certainty.amount import expected_swing

pytestmark = pytest.mark.usefixtures("fit_alone")
THOU = 0.0254


@pytest.mark.parametrize(("n", "size"), [(8, 3.0), (12, 2.0), (12, 3.0)])
def test_the_error_bar_holds_whether_or_not_a_small_knock_was_named(n, size):
    deg = np.arange(n + 1) * 360.0 / n

    def held(seed):
        rng = np.random.default_rng(seed)
        value, truth = surface(rng, deg)
        value += rng.normal(0, 0.3 * THOU, n + 1)
        value[rng.integers(2, n) :] += size * THOU * rng.choice([-1, 1])
        fitter = Fitter(Setup(closing=True))
        for k in range(n + 1):
            fitter.add_station(deg[k] % 360.0, value[k : k + 1], np.array([float(k)]))
        ecc = fitter.result().eccentricity
        return [abs(ecc.amount - float(np.hypot(*truth))) <= ecc.u95_amount]

    # Taken for a steady drift without a doubt, it held in 60 to 85 %.
    assert keeps(Tries(held).column(0))


def test_a_quiet_closed_sweep_pays_next_to_nothing_for_the_doubt():
    # A bore of no form at all, read by a dial of twice the usual scatter, has the least of all: 87 to 91 of
    # 100 are held. Most bores are not round, and of those more than 95.
    scenario = Scenario("", evenly(12), closing=True)
    sweeps = Tries(partial(judge, scenario), 40_000)
    assert keeps(sweeps.column(0), 0.9, 0.75) and keeps(sweeps.column(1), 0.9, 0.75)
    assert np.median([width for *_, width in sweeps.made]) < 0.42 * THOU


def there_and_back(seed, lag, closing=False, steps=8):
    rng = np.random.default_rng(seed)
    order = [(45.0 * k, 0.5) for k in range(steps)] + [(45.0 * k, -0.5) for k in range(steps - 2, -1, -1)]
    fitter = Fitter(Setup(closing=closing))
    for k, (deg, half) in enumerate(order):
        value = 1.0 - 4 * THOU * math.sin(math.radians(deg)) + half * lag + rng.normal(0, 0.2 * THOU)
        fitter.add_station(deg, np.array([value]), np.array([float(k)]))
    return fitter.result()


@pytest.mark.parametrize("closing", [False, True])
def test_a_lag_between_senses_is_not_blamed_on_the_rig(closing):
    blamed = 0
    off = []
    for seed in range(40):
        result = there_and_back(seed, 2 * THOU, closing)
        blamed += "closure" in kinds(result)
        assert result.checks.hysteresis == pytest.approx(2 * THOU, abs=0.6 * THOU)
        off.append(math.hypot(result.eccentricity.vector[0] - 4 * THOU, result.eccentricity.vector[1]))
    assert blamed <= 1 and np.median(off) < 0.2 * THOU


def test_a_rig_that_gave_way_is_blamed_all_the_same():
    rng = np.random.default_rng(3)
    fitter = Fitter(Setup())
    for k in range(9):
        value = 1.0 - 4 * THOU * math.sin(math.radians(45.0 * k)) + (2 * THOU if k == 8 else 0.0)
        fitter.add_station(45.0 * k % 360.0, np.array([value + rng.normal(0, 1e-4)]), np.array([float(k)]))
    assert "closure" in kinds(fitter.result()) or any(
        outlier.deg == 0.0 for outlier in fitter.result().checks.outliers
    )


@pytest.mark.parametrize("n", [12, 36, 72])
def test_noise_in_the_swing_is_told_without_a_bias(n):
    """Against the excess of the true curve: many fitted harmonics once passed noise for form."""
    estimated, due = [], []
    for seed in range(120):
        rng = np.random.default_rng(seed)
        deg = np.arange(n) * 360.0 / n
        curve, _ = surface(rng, deg)
        value = curve + rng.normal(0, 0.3 * THOU, n)
        fitter = Fitter(Setup())
        for k in range(n):
            fitter.add_station(deg[k], value[k : k + 1], np.array([float(k)]))
        estimated.append(fitter.result().tir.swept_excess)
        due.append(expected_swing(curve, 0.3 * THOU)[0])
    assert np.mean(estimated) == pytest.approx(np.mean(due), rel=0.08 if n > 12 else 0.15)
