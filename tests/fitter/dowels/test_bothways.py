"""What the same readings say if the crank went round the other way."""

import math
from dataclasses import replace

import numpy as np
import pytest

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.dowels.bothways import Sweeps, mirrored

READINGS = (0.31, 0.22, 0.05, -0.12, -0.3, -0.21, -0.02, 0.14)


def eccentricity(setup):
    fitter = Fitter(setup)
    for k, value in enumerate(READINGS):
        fitter.add_station(45.0 * k, np.array([value]), np.array([float(k)]))
    return fitter.result().eccentricity


@pytest.mark.parametrize(
    "setup",
    [
        Setup(),
        Setup(zero_deg=37.0),
        Setup(zero_deg=180.0, sag_mm=0.08, bearing_clearance_mm=0.05),
        Setup(zero_deg=70.0, sag_mm=0.08, bearing_clearance_mm=0.05, engine_tilt_deg=20.0, surface="outside"),
        Setup(view="front", sag_mm=0.08),
    ],
)
def test_it_is_what_a_fit_of_the_readings_counted_the_other_way_says(setup):
    other = eccentricity(replace(setup, sense="ccw"))
    turned = mirrored(eccentricity(setup), setup)
    assert turned.vector == pytest.approx(other.vector, abs=1e-9)
    assert math.dist(turned.vector, eccentricity(setup).vector) > 0.01
    assert mirrored(turned, setup).vector == pytest.approx(eccentricity(setup).vector, abs=1e-12)


def test_spread_is_turned_over_with_it():
    ecc = replace(eccentricity(Setup()), covariance=((4.0, 1.0), (1.0, 2.0)))
    assert np.array(mirrored(ecc, Setup()).covariance) == pytest.approx(np.array([[4.0, -1.0], [-1.0, 2.0]]))


def test_only_the_sweeps_that_a_cause_names_are_turned_over():
    ecc = eccentricity(Setup())
    found, left = replace(ecc, vector=(1.0, 2.0)), replace(ecc, vector=(5.0, 9.0))
    sweeps = Sweeps.of(found, left)
    assert sweeps.shift.vector == pytest.approx((4.0, 7.0))
    assert sweeps.turned("found swept the other way").vector == pytest.approx((6.0, 7.0))
    assert sweeps.turned("left swept the other way").vector == pytest.approx((-6.0, 7.0))
    assert sweeps.turned("both swept the other way").vector == pytest.approx((-4.0, 7.0))
