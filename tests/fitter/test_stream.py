"""The streaming fitter as a library: what it refuses, and that a refusal leaves the sweep as it was."""

import numpy as np
import pytest

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.errors import NotNumbers
from coaxly.fitter.fitting.model import fit, supported_harmonics
from coaxly.fitter.numeric.leastsquares import LeastSquares

DEG = np.arange(0.0, 360.0, 45.0)


def swept(bad=()):
    """A fitter after a sweep of eight, and after each of `bad` was refused on the way."""
    fitter = Fitter(Setup.from_header({}))
    for deg in DEG:
        for entered, shown, t in bad:
            with pytest.raises(NotNumbers):
                fitter.add_station(entered, np.array(shown), np.array(t))
        fitter.add_station(deg, np.array([0.1 * np.cos(np.radians(deg))]), np.array([deg]))
    return fitter


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_what_is_no_number_is_refused_and_harms_nothing(bad):
    refused = swept([(0.0, [bad], [0.0]), (bad, [0.1], [0.0]), (0.0, [0.1, 0.2], [0.0, bad])])
    assert refused.samples == len(DEG)
    assert refused.estimate() == swept().estimate()


def test_no_reading_and_columns_of_unlike_lengths_are_refused():
    refused = swept([(0.0, [], []), (0.0, [0.1, 0.2], [0.0])])
    assert refused.samples == len(DEG) and refused.estimate() == swept().estimate()


def test_samples_in_passing_are_checked_alike():
    fitter = Fitter(Setup.from_header({}))
    deg, t = np.linspace(0.0, 360.0, 720), np.linspace(0.0, 30.0, 720)
    shown = 0.1 * np.cos(np.radians(deg))
    for column in range(3):
        columns = [deg.copy(), shown.copy(), t.copy()]
        columns[column][300] = np.nan
        with pytest.raises(NotNumbers):
            fitter.add_track(*columns)
    with pytest.raises(NotNumbers):
        fitter.add_track(deg, shown[:-1], t)
    fitter.add_track(deg, shown, t)
    assert fitter.samples == 720 and fitter.estimate().amount == pytest.approx(0.1, rel=1e-3)


def passed(deg, k=0):
    """A fitter after samples in passing, looked at ten times a turn."""
    fitter, value = Fitter(Setup()), 0.1 * np.cos(np.radians(deg)) + 0.03 * np.sin(np.radians(3.0 * deg))
    for part in np.array_split(np.arange(len(deg)), max(1, len(deg) // 36)):
        fitter.add_track(deg[part], value[part] + 0.002 * np.sin(7.7 * part), 0.01 * part)
        fitter.estimate()
    return fitter


@pytest.mark.parametrize("degrees", [100.0, 200.0, 360.0, 7 * 360.0])
def test_the_estimate_is_the_fit_of_the_whole_table(degrees):
    fitter = passed(np.arange(0.0, degrees, 1.0))
    stations, estimate = fitter.stations(), fitter.estimate()
    whole = fit(stations, supported_harmonics(stations))
    assert estimate.harmonics == whole.harmonics
    seen = (estimate.mean, -estimate.y, -estimate.x)
    assert seen == pytest.approx(tuple(whole.coefficients[:3]), abs=1e-14)
    assert estimate.scatter == pytest.approx(np.sqrt(whole.residual_sum / whole.freedom), rel=1e-11)


@pytest.mark.parametrize("turns", [1, 8])
def test_a_look_costs_the_newest_rows_however_long_the_sweep_and_the_hand_may_tremble(turns, monkeypatch):
    border = 360.0 * turns + 180.0
    fitter, absorb, absorbed = passed(np.arange(0.0, border, 1.0)), LeastSquares.absorb, []
    monkeypatch.setattr(LeastSquares, "absorb", lambda *row: (absorbed.append(1), absorb(*row)))
    for k in range(10):
        step = 0.5 * (-1) ** k
        fitter.add_track(np.array([border + step]), np.array([0.1]), np.array([3600.0 + k]))
        fitter.estimate()
    assert len(absorbed) <= 10 * 4


@pytest.mark.parametrize("stations", range(3, 9))
def test_readings_of_anything_have_a_result(stations):
    """So wild that more faults are named than readings are left."""
    fitter = Fitter(Setup())
    for k, thou in enumerate((0, 1400, 3000, 1100, -500, 200, 300, 400)[:stations]):
        fitter.add_station(45.0 * k, np.array([thou * 0.0254]), np.array([0.001 * k]))
    ahead = fitter.outlook([45.0 * k for k in range(stations, 9)])
    assert ahead is not None and np.isfinite(ahead.eccentricity.u95_amount) and fitter.result()
