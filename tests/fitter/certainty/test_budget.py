"""Each line of the uncertainty budget is what its rule says, by numbers worked out apart from the code."""

import math

import numpy as np
import pytest
from chances import Tries, keeps

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.certainty.budget import beyond_scatter, lines
from coaxly.fitter.numeric.quantiles import plane_factor
from coaxly.fitter.units import MM_PER_THOU as THOU

pytestmark = pytest.mark.usefixtures("fit_alone")
ROUND = [45.0 * k for k in range(8)]


def assembled(**setup):
    """What repeating the stations would not show, of an offset of 0.1 mm."""
    return beyond_scatter(Setup.from_header(setup), 0.1)


def line(parts, source):
    return next((each.value for each in lines(parts) if each.source == source), 0.0)


def whole(parts):
    """Covariance of (x, y), mm^2."""
    return np.sum([part for _, _, part in parts], axis=0)


def test_a_permissible_error_is_evenly_spread_and_bears_on_both_ends_of_the_swing():
    """Even within +-MPE: variance MPE^2 / 3 each; half the difference of two readings: MPE^2 / 6."""
    assert line(assembled(mpe_mm=0.06), "indicator's permissible error") == pytest.approx(0.06 / math.sqrt(6))


@pytest.mark.parametrize(
    ("key", "source", "size"),
    [("sag_mm", "rig sag", 0.1), ("bearing_clearance_mm", "bearing clearance", 0.05)],
)
def test_what_gravity_does_is_known_to_a_tenth_and_counts_up_and_down_only(key, source, size):
    plain, known = assembled(), assembled(**{key: 0.2})
    added = whole(known) - whole(plain)
    assert added == pytest.approx(np.diag([0.0, (size * 0.2) ** 2]), abs=1e-12)
    assert line(known, source) == pytest.approx(size * 0.2 / math.sqrt(2))


def test_a_tip_angle_judged_by_eye_counts_with_the_amount():
    """d(cos a) / cos a = tan a da, with two degrees for da."""
    known = assembled(tip_angle_deg=30.0)
    expected = math.tan(math.radians(30.0)) * math.radians(2.0) * 0.1
    assert line(known, "tip angle") == pytest.approx(expected, rel=1e-6)


def swept(sd=0.002, seed=3, **setup):
    """The result of eight stations round an offset of 0.1 mm along y."""
    dice = np.random.default_rng(seed)
    fitter = Fitter(Setup.from_header({"zero_sd_deg": 0.0, "hysteresis_mm": 0.0, **setup}))
    for k, deg in enumerate(ROUND):
        read = np.array([-0.1 * math.cos(math.radians(deg)) + dice.normal(0.0, sd)])
        fitter.add_station(deg, read, np.array([float(k)]))
    return fitter.result()


def test_a_wrong_angle_turns_the_vector_three_times_as_much_as_it_lengthens_it():
    """The offset is 0.1 mm along y. Its slope is 0.1 sin a; into x it comes weighed by sin a, into y by
    cos a, and round the circle the mean of sin^4 is three times that of sin^2 cos^2."""
    plain, known = (np.array(swept(angle_sd_deg=sd).eccentricity.covariance) for sd in (0.0, 3.0))
    added = known - plain
    assert added[0, 0] / added[1, 1] == pytest.approx(3.0, rel=0.4)
    step = 0.1 * math.radians(3.0)
    assert added[0, 0] == pytest.approx(step**2 * 4.0 / 8.0 * 3.0 / 8.0, rel=0.4)


def test_a_step_of_the_display_is_evenly_spread_over_its_width():
    """Even within half a step either way, variance r^2 / 12; eight stations give (2 / 8) of it."""
    known = {each.source: each.value for each in swept(resolution_mm=0.02).budget}
    assert known["resolution"] == pytest.approx(0.02 / math.sqrt(12) * math.sqrt(2 / 8), rel=0.1)


def _four_stations(noise_thou, oval_thou):
    """Sweeps: whether the 95 % region holds the truth, and the half-width of the amount in thou."""
    deg = np.arange(4) * 90.0
    rad = np.deg2rad(deg)

    def swept(seed):
        rng = np.random.default_rng(seed)
        centre = rng.normal(size=2) * 3 * THOU
        value = -centre[0] * np.sin(rad) - centre[1] * np.cos(rad) + rng.normal(size=4) * noise_thou * THOU
        value += oval_thou * THOU * np.cos(2 * rad - rng.uniform(0, 6.283))
        fitter = Fitter(Setup())
        for k in range(4):
            fitter.add_station(float(deg[k]), value[k : k + 1], np.array([float(k)]))
        ecc = fitter.result().eccentricity
        off = np.array(ecc.vector) - centre
        spread = np.array(ecc.covariance)
        distance = off @ np.linalg.solve(spread, off)
        return distance <= plane_factor(0.95, ecc.freedom or np.inf) ** 2, ecc.u95_amount / THOU

    return Tries(swept)


def test_four_stations_in_an_oval_bore_still_say_something():
    """One station to spare, off by the oval, once made the interval twenty standard deviations wide."""
    sweeps = _four_stations(0.3, 1.5)
    assert keeps(sweeps.column(0)) and np.median([width for _, width in sweeps.made]) < 5.0


def test_four_stations_of_a_dial_that_scatters_hold_the_truth():
    for noise in (0.3, 0.9):
        assert keeps(_four_stations(noise, 0.0).column(0))
