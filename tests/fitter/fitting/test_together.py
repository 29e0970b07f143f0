"""Several sweeps of one housing as one result."""

import math
from itertools import permutations

import numpy as np
import pytest
from bench.worlds import STILL

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.analysis import analyse, analyse_together

THOU = 0.0254
TRUTH = (3 * THOU, -4 * THOU)


def one(seed, mean=1.0, noise=0.3 * THOU, n=8, change=lambda value: value, **setup):
    rng = np.random.default_rng(seed)
    closing = setup.setdefault("closing", False)
    fitter = Fitter(Setup.from_header(setup))
    deg = [360.0 / n * k for k in range(n + closing)]
    value = np.array([mean - TRUTH[0] * math.sin(d) - TRUTH[1] * math.cos(d) for d in np.deg2rad(deg)])
    value = change(value + rng.normal(0, noise, len(deg)))
    for k, (d, v) in enumerate(zip(deg, value, strict=True)):
        fitter.add_station(d % 360.0, np.array([v]), np.array([float(k)]))
    return fitter.setup, fitter.stations()


def of(*sweeps):
    return analyse_together(sweeps, sum(len(stations) for _, stations in sweeps))


def test_several_sweeps_are_one_result():
    sweeps = [one(seed, 0.1 * seed) for seed in range(1, 5)]
    together, alone = of(*sweeps), analyse(*sweeps[0], 8)
    assert together.stations == 32
    assert together.eccentricity.vector == pytest.approx(TRUTH, abs=0.25 * THOU)
    # What hides between the stations hides in all four.
    assert together.eccentricity.u95_amount < 0.85 * alone.eccentricity.u95_amount


def test_the_order_of_the_sweeps_does_not_matter():
    sweeps = [
        one(1, closing=True, limit_mm=0.2, sag_mm=0.05, mpe_mm=0.004),
        one(2, limit_mm=0.1, resolution_mm=0.0127, angle_sd_deg=1.0),
        one(3, n=12, closing=True, limit_mm=0.15, tip_angle_deg=10.0, calibration=[[0.0, 0.0], [1.0, 0.001]]),
    ]
    results = [of(*order) for order in permutations(sweeps)]
    for other in results[1:]:
        for name in ("vector", "u95_amount", "u95_deg"):
            assert getattr(other.eccentricity, name) == pytest.approx(
                getattr(results[0].eccentricity, name), rel=1e-9, abs=1e-12
            )
        assert other.decision.limit == 0.1
        assert other.decision.probability == pytest.approx(results[0].decision.probability, abs=1e-9)
        assert {line.source: pytest.approx(line.value) for line in other.budget} == {
            line.source: line.value for line in results[0].budget
        }
        assert other.corrections == pytest.approx(results[0].corrections)


@pytest.mark.parametrize(
    "unlike",
    [
        {"repeatability_mm": 0.02},
        {"repeatability_mm": 0.02, "repeatability_freedom": 3.0},
        {"bearing_clearance_mm": 0.1},
        {"bearing_clearance_mm": 0.1, "engine_tilt_deg": 30.0},
        {"sag_mm": 0.05, "crank": "upright"},
        {"hidden_form_mm": 0.05},
    ],
    ids=lambda unlike: "-".join(unlike),
)
def test_neither_vector_nor_verdict_hang_on_which_of_unlike_sweeps_comes_first(unlike):
    said, unsaid = one(3, limit_mm=0.25, **unlike), one(4, limit_mm=0.25)
    first, second = of(said, unsaid), of(unsaid, said)
    assert second.eccentricity.vector == pytest.approx(first.eccentricity.vector, rel=1e-9)
    assert np.array(second.eccentricity.covariance) == pytest.approx(
        np.array(first.eccentricity.covariance), rel=1e-9, abs=1e-15
    )
    assert second.decision.probability == pytest.approx(first.decision.probability, abs=1e-9)


def lines(result):
    return {line.source: line.value for line in result.budget}


def test_errors_of_the_rig_do_not_average_down_and_scatter_does():
    rig = {"mpe_mm": 0.01, "sag_mm": 0.1}
    alone, many = (lines(of(*(one(seed, **rig) for seed in range(1, n)))) for n in (5, 17))
    for source in ("indicator's permissible error", "rig sag"):
        assert many[source] == pytest.approx(alone[source])
    assert many["scatter about the model"] < 0.75 * alone["scatter about the model"]


def test_the_rig_of_each_sweep_counts_by_its_weight():
    mixed = lines(of(one(1, mpe_mm=0.02), one(2)))
    whole = lines(of(one(1, mpe_mm=0.02), one(2, mpe_mm=0.02)))
    source = "indicator's permissible error"
    assert mixed[source] == pytest.approx(whole[source] / 2.0)


def test_what_each_sweep_showed_of_itself_is_kept():
    def knocked(value):
        return value + np.where(np.arange(len(value)) >= 6, 6 * THOU, 0.0)

    def burred(value):
        return value + np.where(np.arange(len(value)) == 4, 6 * THOU, 0.0)

    quiet = {"n": 12, "noise": 0.1 * THOU}
    result = of(
        one(1, change=burred, **quiet), one(2, change=knocked, **quiet), one(3, closing=True, **quiet)
    )
    assert [outlier.clock for outlier in result.checks.outliers] == ["4:00"]
    assert result.checks.step.size == pytest.approx(6 * THOU, abs=0.5 * THOU)
    assert result.model.drift and "drift_mm" in result.corrections
    assert result.eccentricity.vector == pytest.approx(TRUTH, abs=0.2 * THOU)


def test_a_quiet_continuous_sweep_beside_a_stopped_one_is_judged_by_its_own_scatter():
    deg = np.linspace(0.0, 360.0, 7200, endpoint=False)
    rad = np.deg2rad(deg)
    rng = np.random.default_rng(5)
    track = Fitter(Setup.from_header(STILL))
    value = 1.0 - TRUTH[0] * np.sin(rad) - TRUTH[1] * np.cos(rad) + rng.normal(0, 0.1 * THOU, 7200)
    track.add_track(deg, value, deg / 100.0)
    turn = track.setup, track.stations()
    alone = analyse(*turn, 7200).eccentricity.u95_amount
    beside = of(turn, one(1, n=12, noise=1.0 * THOU, **STILL)).eccentricity.u95_amount
    # Noisy stations weigh as much as quiet sectors in the fit: the bar must say so.
    assert beside > 3.0 * alone
