"""Each line of the uncertainty budget is what its rule says, by numbers worked out apart from the code."""

import math

import numpy as np
import pytest
from chances import Tries, keeps

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.certainty.budget import budget
from coaxly.fitter.certainty.unseen import Unseen
from coaxly.fitter.fitting.model import fit
from coaxly.fitter.fitting.scatter import Scatter
from coaxly.fitter.numeric.quantiles import plane_factor
from coaxly.fitter.reading.stations import EnteredStations
from coaxly.fitter.units import MM_PER_THOU as THOU

pytestmark = pytest.mark.usefixtures("fit_alone")
NOTHING_HIDES = Unseen((), drift=False, closed=True, lag=False, on_deg=None, gap_mm=0.0, parts=())
ROUND = [45.0 * k for k in range(8)]
ARC = [15.0 * k for k in range(13)]  # half a turn


def stations(degrees, read):
    table = EnteredStations()
    for k, deg in enumerate(degrees):
        table.add(deg, np.array([read(math.radians(deg))]), np.array([float(k)]))
    return table.table()


def assembled(closure=None, degrees=ROUND, sd=0.01, **setup):
    there = stations(degrees, lambda a: 0.1 * math.cos(a))
    fitted = fit(there, 1)
    scatter = Scatter(sd**2, 5.0, fitted.unscaled)
    return budget(Setup.from_header(setup), there, fitted, scatter, NOTHING_HIDES, closure)


def line(known, source):
    return next((each.value for each in known.lines if each.source == source), 0.0)


def test_a_permissible_error_is_evenly_spread_and_bears_on_both_ends_of_the_swing():
    """Even within +-MPE: variance MPE^2 / 3 each; half the difference of two readings: MPE^2 / 6."""
    assert line(assembled(mpe_mm=0.06), "indicator's permissible error") == pytest.approx(0.06 / math.sqrt(6))


def test_a_step_of_the_display_is_evenly_spread_over_its_width():
    """Even within half a step either way, variance r^2 / 12; eight stations give (2 / 8) of it."""
    known = assembled(resolution_mm=0.02)
    assert line(known, "resolution") == pytest.approx(0.02 / math.sqrt(12) * math.sqrt(2 / 8))


@pytest.mark.parametrize(
    ("key", "source", "size"),
    [("sag_mm", "rig sag", 0.1), ("bearing_clearance_mm", "bearing clearance", 0.05)],
)
def test_what_gravity_does_is_known_to_a_tenth_and_counts_up_and_down_only(key, source, size):
    plain, known = assembled(), assembled(**{key: 0.2})
    added = known.covariance - plain.covariance
    assert added == pytest.approx(np.diag([0.0, (size * 0.2) ** 2]), abs=1e-12)
    assert line(known, source) == pytest.approx(size * 0.2 / math.sqrt(2))


def test_a_drift_that_was_not_corrected_is_a_ramp_of_any_start():
    """A ramp of height d round the turn puts d / pi into sin; even within +-d: variance d^2 / (3 pi^2)."""
    d = 0.5
    a = np.linspace(0.0, 2.0 * math.pi, 20_001)[:-1]
    fundamental = 2.0 * np.mean(d * a / (2.0 * math.pi) * np.sin(a))
    assert abs(fundamental) == pytest.approx(d / math.pi, rel=1e-3)
    known = assembled(closure=d)
    assert line(known, "drift, not corrected") == pytest.approx(abs(fundamental) / math.sqrt(3), rel=1e-3)


def test_a_closing_reading_within_the_scatter_tells_of_no_drift():
    """Three standard deviations of the difference of two readings."""
    sd = 0.01
    for closure, told in ((2.9, False), (3.1, True)):
        known = assembled(closure=closure * math.sqrt(2) * sd, sd=sd)
        assert (line(known, "drift, not corrected") > 0.0) == told


def test_a_tip_angle_judged_by_eye_counts_with_the_amount():
    """d(cos a) / cos a = tan a da, with two degrees for da."""
    known = assembled(tip_angle_deg=30.0)
    expected = math.tan(math.radians(30.0)) * math.radians(2.0) * 0.1
    assert line(known, "tip angle") == pytest.approx(expected, rel=1e-6)


def test_out_of_round_that_an_arc_hides_is_as_large_as_it_comes_out():
    """Housings oval by half a thou and lobed by less, at random, swept over half a turn and fitted with a
    circle: the offset is wrong by as much as the budget says."""
    dice = np.random.default_rng(5)
    wrong = []
    for _ in range(2000):
        lobes = [(k, *dice.normal(0.0, sd * THOU, 2)) for k, sd in ((2, 0.5), (3, 0.25), (4, 0.15))]
        there = stations(
            ARC, lambda a, lobes=lobes: sum(c * math.cos(k * a) + s * math.sin(k * a) for k, c, s in lobes)
        )
        wrong.append(fit(there, 1).harmonic(1))
    spread = math.sqrt(np.mean(np.square(wrong)))
    known = assembled(degrees=ARC)
    assert line(known, "form that these stations cannot resolve") == pytest.approx(spread, rel=0.06)


def test_all_round_out_of_round_shows_in_the_scatter():
    known = assembled()
    assert line(known, "form that these stations cannot resolve") == 0.0


def test_from_120_degrees_without_a_station_a_sweep_is_an_arc():
    for gap, arc in ((118.0, False), (123.0, True)):
        degrees = list(np.linspace(0.0, 360.0 - gap, 14))
        known = assembled(degrees=degrees)
        assert (line(known, "form that these stations cannot resolve") > 0.0) == arc


def test_a_wrong_angle_turns_the_vector_three_times_as_much_as_it_lengthens_it():
    """The offset is 0.1 mm along y. Its slope is 0.1 sin a; into x it comes weighed by sin a, into y by
    cos a, and round the circle the mean of sin^4 is three times that of sin^2 cos^2."""
    known = assembled(sd=1e-9, angle_sd_deg=2.0)
    step = 0.1 * math.radians(2.0)
    assert known.covariance[0, 0] == pytest.approx(step**2 * 4.0 / 8.0 * 3.0 / 8.0, rel=1e-6)
    assert known.covariance[1, 1] == pytest.approx(step**2 * 4.0 / 8.0 * 1.0 / 8.0, rel=1e-6)


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
