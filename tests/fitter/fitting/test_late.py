"""A dial that is late turns what is read in passing, and what is known of it is taken out or allowed for."""

import math

import numpy as np
import pytest

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.fitting import late
from coaxly.fitter.numeric.quantiles import plane_factor

CENTRE = np.array([0.06, -0.08])
RATE, SPEED = 100.0, 60.0


def there(rest=0.0, turns=1.0):
    """Path of the crank, degrees: at rest, round, at rest."""
    return np.concatenate([np.zeros(int(rest * RATE)), np.arange(0.0, 360.0 * turns, SPEED / RATE),
                           np.full(int(rest * RATE), 360.0 * turns)])  # fmt: skip


def back(rest=0.0):
    return np.concatenate([there(rest), there(rest)[::-1]])


def swept(path, tau, rest_before=True, **keys):
    t = np.arange(len(path)) / RATE
    before = path[0] if rest_before else path[0] - SPEED
    met = np.deg2rad(np.interp(t - tau, np.append(-1.0, t), np.append(before, path)))
    value = -CENTRE[0] * np.sin(met) - CENTRE[1] * np.cos(met)
    value += np.random.default_rng(1).normal(0.0, 0.001, len(path))
    fitter = Fitter(Setup.from_header(keys))
    fitter.add_track(path, value, t)
    return fitter


def held(result):
    off = np.array(result.eccentricity.vector) - CENTRE
    freedom = result.eccentricity.freedom or math.inf
    return math.sqrt(off @ np.linalg.solve(result.eccentricity.covariance, off)) <= plane_factor(
        0.95, freedom
    )


def kinds(result, level):
    return [remark.kind for remark in result.remarks if remark.level == level]


@pytest.mark.parametrize("tau", [0.05, 0.1, 0.3])
@pytest.mark.parametrize("rest", [0.0, 2.0])
def test_there_and_back_tells_the_delay(tau, rest):
    result = swept(back(rest), tau, rest_before=rest > 0.0).result()
    assert result.corrections["delay_s"] == pytest.approx(tau, abs=0.01)
    assert result.eccentricity.vector == pytest.approx(CENTRE, abs=0.001)
    assert result.checks.outliers == () and "delay" not in kinds(result, "note")


@pytest.mark.parametrize("tau", [0.0, 0.05, 0.1, 0.3])
@pytest.mark.parametrize("rest", [0.0, 2.0])
def test_one_way_it_is_allowed_for_and_said_and_rest_is_no_burr(tau, rest):
    result = swept(there(rest), tau, rest_before=rest > 0.0).result()
    assert held(result) and result.checks.outliers == () and result.checks.step is None
    assert "delay" in kinds(result, "note")
    assert "delay of the dial" in [line.source for line in result.budget]


def test_a_delay_that_only_turns_the_vector_makes_its_length_and_the_verdict_no_less_sure():
    known, unknown = (
        swept(there(), 0.1, rest_before=False, **keys).result() for keys in ({"delay_sd_s": 0.0}, {})
    )
    assert unknown.eccentricity.u95_amount == pytest.approx(known.eccentricity.u95_amount, rel=0.1)
    assert unknown.decision.probability == pytest.approx(known.decision.probability, abs=0.01)
    assert unknown.eccentricity.u95_deg > 5.0 * known.eccentricity.u95_deg
    assert np.trace(unknown.eccentricity.covariance) > 10.0 * np.trace(known.eccentricity.covariance)


def test_stated_it_is_taken_out_and_costs_little():
    stated = swept(there(), 0.2, rest_before=False, delay_s=0.2).result()
    unstated = swept(there(), 0.2, rest_before=False).result()
    assert held(stated) and stated.corrections["delay_s"] == 0.2
    assert stated.eccentricity.u95_deg < unstated.eccentricity.u95_deg / 4.0
    assert stated.eccentricity.vector == pytest.approx(CENTRE, abs=0.002)


def test_a_slow_crank_needs_no_word():
    fitter = Fitter(Setup())
    deg = np.arange(0.0, 360.0, 0.2)
    value = -CENTRE[0] * np.sin(np.deg2rad(deg)) - CENTRE[1] * np.cos(np.deg2rad(deg))
    fitter.add_track(deg, value, np.arange(len(deg)) / 10.0)  # two degrees a second
    assert "delay" not in kinds(fitter.result(), "note")


def test_stations_that_are_stopped_at_are_untouched():
    results = []
    for keys in ({}, {"delay_s": 0.3}):
        fitter = Fitter(Setup.from_header(keys))
        for k in range(8):
            fitter.add_station(45.0 * k, np.array([math.cos(math.radians(45.0 * k))]), np.array([float(k)]))
        results.append(fitter.result())
    assert results[0] == results[1]
    assert fitter.stations().speed.tolist() == [0.0] * 8


def test_the_speed_of_a_sector_is_the_same_however_readings_are_cut():
    path = back(1.0)
    whole, t = swept(path, 0.0).stations(), np.arange(len(path)) / RATE
    fitter = Fitter(Setup())
    for part in np.split(np.arange(len(path)), [1, 2, 300, 301, 777]):
        fitter.add_track(path[part], np.zeros(len(part)), t[part])
    assert fitter.stations().speed.tobytes() == whole.speed.tobytes()
    middle = whole.sense > 0
    assert np.median(whole.speed[middle]) == pytest.approx(SPEED, abs=0.1)


def test_moving_the_readings_is_turning_them():
    stations = swept(there(), 0.0).stations()
    moved = late.moved(stations, 0.1)
    turned = (stations.deg - moved.deg + 180.0) % 360.0 - 180.0
    assert turned[5:-5] == pytest.approx(stations.speed[5:-5] * 0.1)
    assert np.hypot(moved.basis[:, 1], moved.basis[:, 2]) == pytest.approx(
        np.hypot(stations.basis[:, 1], stations.basis[:, 2])
    )
