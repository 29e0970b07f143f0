"""Which drifts a sweep can tell, and that a pause tells none."""

import numpy as np
import pytest

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.fitting.drift import columns
from coaxly.fitter.reading.stations import EnteredStations


def table(degrees, times):
    stations = EnteredStations()
    for deg, t in zip(degrees, times, strict=True):
        stations.add(float(deg), np.array([0.0]), np.array([float(t)]))
    return stations.table()


@pytest.mark.parametrize("gap", range(1, 12))
def test_a_pause_in_one_turn_does_not_make_a_drift_of_an_offset(gap):
    times = np.arange(12.0)
    times[gap:] += 3600.0
    assert set(columns(table(np.arange(12) * 30.0, times))) == set()


@pytest.mark.parametrize("gap", range(1, 8))
def test_the_times_of_one_turn_do_not_move_its_vector(gap):
    """Typed readings come as fast as they are typed."""
    value = np.array([0, 0.002, 0.004, -0.001, -0.007, -0.010, -0.005, 0.001])

    def vector(times):
        fitter = Fitter(Setup())
        for k in range(8):
            fitter.add_station(45.0 * k, value[k : k + 1], times[k : k + 1])
        return fitter.result().eccentricity.vector

    times = np.arange(8.0)
    evenly = vector(times.copy())
    times[gap:] += 3600.0
    assert vector(times) == pytest.approx(evenly, rel=1e-9)


def test_the_first_place_read_again_in_mid_sweep_tells_a_drift():
    degrees = [0, 45, 90, 135, 0, 180, 225, 270, 315, 0]
    assert "drift" in columns(table(degrees, range(10)))
    assert "drift" in columns(table([*range(0, 360, 30), *range(0, 360, 30)], range(24)))
