import math

import numpy as np
import pytest
from remarking import facts

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.units import MM_PER_THOU as THOU

TRUTH = (3 * THOU, -4 * THOU)


def sweep(change, n=12, closing=True, **setup):
    rng = np.random.default_rng(7)
    deg = [360.0 / n * k for k in range(n)] + ([0.0] if closing else [])
    value = [
        30 * THOU - TRUTH[0] * math.sin(math.radians(d)) - TRUTH[1] * math.cos(math.radians(d)) for d in deg
    ]
    value = change([v + rng.normal(0, 0.1 * THOU) for v in value])
    fitter = Fitter(Setup.from_header({"closing": closing, **setup}))
    for k, (d, v) in enumerate(zip(deg, value, strict=True)):
        fitter.add_station(d, np.array([v]), np.array([float(k)]))
    return fitter.result()


def at(k, how):
    return lambda values: [how(v) if i == k else v for i, v in enumerate(values)]


@pytest.mark.parametrize(
    ("change", "looks"),
    [
        (at(4, lambda v: v - 40 * THOU), "low"),
        (at(4, lambda v: v + 6 * THOU), "high"),
        (at(4, lambda v: -v), "sign"),
        (at(4, lambda v: v * 25.4), "unit"),
        (at(4, lambda v: v * 10), "point"),
    ],
)
def test_a_bad_station_is_named_and_left_out(change, looks):
    result = sweep(change)
    (outlier,) = result.checks.outliers
    assert outlier.clock == "4:00" and outlier.like == looks and outlier.weight == 0.0
    assert result.eccentricity.vector == pytest.approx(TRUTH, abs=0.2 * THOU)
    assert outlier.probability > 0.99
    assert facts(result, "bad_station") == {
        "deg": 120.0, "residual_mm": outlier.residual, "like": looks, "probability": outlier.probability,
    }  # fmt: skip


@pytest.mark.parametrize(("times", "looks"), [(-1.15, "sign"), (-1.36, "low")])
def test_a_slip_is_named_only_where_it_explains_nine_tenths_of_what_is_off(times, looks):
    """Of a reading 1.15 times as large with the wrong sign, 7 % are left; of one 1.36 times as large, 15 %."""
    (outlier,) = sweep(at(4, lambda v: times * v)).checks.outliers
    assert outlier.like == looks


def test_the_place_before_read_again_is_not_taken_for_a_burr():
    def change(values):
        return at(4, lambda v: values[3])(values)

    (outlier,) = sweep(change).checks.outliers
    assert outlier.clock == "4:00" and outlier.like == "unmoved"


def test_two_bad_stations_are_both_found():
    def change(values):
        return at(2, lambda v: v - 30 * THOU)(at(8, lambda v: v + 20 * THOU)(values))

    assert [o.clock for o in sweep(change).checks.outliers] in (["2:00", "8:00"], ["8:00", "2:00"])


@pytest.mark.parametrize("bad", [0, 12])
def test_a_bad_first_or_closing_reading_is_no_drift(bad):
    result = sweep(at(bad, lambda v: v + 8 * THOU))
    assert [o.clock for o in result.checks.outliers] == ["12:00"]
    assert "drift_mm" not in result.corrections
    assert result.eccentricity.vector == pytest.approx(TRUTH, abs=0.2 * THOU)


def test_a_knock_is_found_sized_and_taken_out():
    result = sweep(lambda values: [v + (5 * THOU if i >= 7 else 0.0) for i, v in enumerate(values)])
    step = result.checks.step
    assert step.size == pytest.approx(5 * THOU, abs=0.4 * THOU)
    assert (step.after_deg, step.before_deg) == (180.0, 210.0)
    assert 6.0 <= step.t <= 7.0
    assert result.eccentricity.vector == pytest.approx(TRUTH, abs=0.3 * THOU)
    assert facts(result, "step") == {
        "size_mm": step.size, "after_deg": 180.0, "before_deg": 210.0, "probability": step.probability,
    }  # fmt: skip


def test_a_knock_is_the_surer_the_larger_it_is():
    """How likely there was one, wherever: named from more than nine in ten on."""
    found = [
        sweep(lambda values, size=size: [v + (size * THOU if i >= 7 else 0.0) for i, v in enumerate(values)])
        for size in (0.3, 1.2, 1.6, 5.0)
    ]
    sure = [result.checks.step.probability if result.checks.step else 0.0 for result in found]
    assert sure == sorted(sure) and sure[0] == 0.0 and sure[1] > 0.9 and 0.99 < sure[3] <= 1.0


def test_a_steady_drift_is_no_knock():
    result = sweep(lambda values: [v + 0.2 * THOU * i for i, v in enumerate(values)])
    assert result.checks.step is None and not result.checks.outliers
    assert result.corrections["drift_mm"] == pytest.approx(2.4 * THOU, abs=0.4 * THOU)


def test_an_oval_bore_is_not_accused():
    result = sweep(
        lambda values: [v + 4 * THOU * math.cos(2 * math.radians(30.0 * i)) for i, v in enumerate(values)]
    )
    assert not result.checks.outliers and result.checks.step is None
    assert result.form.ovality == pytest.approx(4 * THOU, abs=0.2 * THOU)


def test_a_lag_between_senses_is_measured_and_taken_out():
    fitter = Fitter(Setup())
    t = 0.0
    for order, lag in ((range(0, 360, 45), 0.5), (range(270, -1, -45), -0.5)):
        for d in order:
            value = (
                -TRUTH[0] * math.sin(math.radians(d)) - TRUTH[1] * math.cos(math.radians(d)) + lag * 2 * THOU
            )
            fitter.add_station(d, np.array([value]), np.array([t]))
            t += 1.0
    result = fitter.result()
    assert result.checks.hysteresis == pytest.approx(2 * THOU, abs=0.3 * THOU)
    assert result.eccentricity.vector == pytest.approx(TRUTH, abs=0.3 * THOU)
    assert facts(result, "hysteresis")["hysteresis_mm"] == result.checks.hysteresis


def test_an_arc_says_where_to_read_next():
    fitter = Fitter(Setup())
    for d in range(0, 121, 15):
        value = -TRUTH[0] * math.sin(math.radians(d)) - TRUTH[1] * math.cos(math.radians(d))
        fitter.add_station(d, np.array([value]), np.array([float(d)]))
    result = fitter.result()
    assert facts(result, "gap")["gap_deg"] == 240.0 and 120.0 < facts(result, "gap")["next_deg"] < 360.0
    assert any(line.source.startswith("form that these stations") for line in result.budget)


def test_noise_in_the_swing_is_estimated():
    result = sweep(lambda values: values)
    assert 0.0 < result.tir.swept_excess < 0.3 * THOU
    assert 0.0 < result.tir.swept_sd < 0.3 * THOU
