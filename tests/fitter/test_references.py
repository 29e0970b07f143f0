"""Published harmonic analyses, and independent general-purpose libraries on the same data."""

import math

import numpy as np
import pytest
from factoring import unscaled
from ray import to_circle

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.certainty.amount import radial_and_tangential, unbiased_amount
from coaxly.fitter.certainty.decision import probability_within
from coaxly.fitter.certainty.freedom import effective_freedom, welch_satterthwaite
from coaxly.fitter.numeric.basis import harmonic_rows
from coaxly.fitter.numeric.circle import fit_circle
from coaxly.fitter.numeric.leastsquares import LeastSquares
from coaxly.fitter.numeric.quantiles import t_quantile

pytestmark = pytest.mark.arithmetic

NELSON_DEG = [97, 130, 167.5, 187.5, 218, 247.5, 285, 315, 337.5]
NELSON_Y = [102, 96.8, 97, 92.5, 95, 93, 99.4, 99.8, 105.5]


def harmonic_fit(deg, y, harmonics):
    factor = LeastSquares(1 + 2 * harmonics)
    for row, value in zip(harmonic_rows(np.array(deg, float), harmonics), y, strict=True):
        factor.absorb((*row.tolist(), float(value)))
    return factor


def test_twelve_ordinates():
    """J. O. Bird, Higher Engineering Mathematics, numerical method of harmonic analysis, Problem 1."""
    y = [62, 35, -38, -64, -63, -52, -28, 24, 80, 96, 90, 70]
    fit = harmonic_fit(range(30, 361, 30), y, 3).solution()
    assert fit == pytest.approx(
        [17.66666667, 69.65736219, -46.42296419, -6.5, 4.90747729, -8.16666667, 9.16666667], abs=5e-9
    )
    assert math.hypot(fit[1], fit[2]) == pytest.approx(83.709257023, abs=5e-10)
    # As printed, in fewer digits.
    assert fit == pytest.approx([17.67, 69.66, -46.42, -6.50, 4.91, -8.17, 9.17], abs=0.006)


def test_unequal_angles():
    """Single-component cosinor after Nelson et al. (1979), worked example by C. Cox (2008)."""
    factor = harmonic_fit(NELSON_DEG, NELSON_Y, 1)
    c, a, b = factor.solution()
    s2 = factor.residual_sum / factor.freedom
    cov = s2 * unscaled(factor)
    assert (c, a, b) == pytest.approx((99.72697459, 5.675873, 2.92194952), abs=5e-8)
    assert np.sqrt(np.diag(cov)) == pytest.approx([0.71837636, 0.99354711, 0.99286808], abs=5e-8)
    assert factor.residual_sum == pytest.approx(21.658844479, abs=5e-9)
    vector = np.array([b, a])
    along, across = radial_and_tangential(vector, cov[np.ix_([2, 1], [2, 1])])
    assert math.hypot(a, b) == pytest.approx(6.383832960163, abs=5e-12)
    assert math.degrees(math.atan2(b, a)) == pytest.approx(27.23949024, abs=5e-8)
    assert along == pytest.approx(1.118601502, abs=5e-9)
    assert math.degrees(across / math.hypot(a, b)) == pytest.approx(7.624396985, abs=5e-8)
    # As printed: mesor, amplitude.
    assert (c, math.hypot(a, b)) == pytest.approx((99.727, 6.38383), abs=5e-4)


def test_statsmodels_agrees():
    import statsmodels.api as sm

    X = harmonic_rows(np.array(NELSON_DEG), 1)
    ols = sm.OLS(np.array(NELSON_Y), X).fit()
    factor = harmonic_fit(NELSON_DEG, NELSON_Y, 1)
    assert factor.solution() == pytest.approx(ols.params, rel=1e-12)
    covariance = factor.residual_sum / factor.freedom * unscaled(factor)
    assert covariance == pytest.approx(ols.cov_params(), rel=1e-11)
    recursive = sm.RecursiveLS(np.array(NELSON_Y), X).fit()
    assert factor.solution() == pytest.approx(recursive.params, rel=1e-9)


def test_astropy_agrees_and_needs_its_floating_mean():
    from astropy.timeseries import LombScargle

    t = np.array(NELSON_DEG) / 360.0
    _, a, b = harmonic_fit(NELSON_DEG, NELSON_Y, 1).solution()
    _, sin, cos = LombScargle(t, NELSON_Y, fit_mean=True).model_parameters(1)
    assert (cos, sin) == pytest.approx((a, b), rel=1e-9)
    without = LombScargle(t, NELSON_Y, fit_mean=False).model_parameters(1)
    assert math.hypot(*without) == pytest.approx(5.067, abs=5e-4)


def test_fft_bin_one_is_the_least_squares_centre():
    """ISO 4291 / ASME B89.3.1: 2/n sum(r cos), 2/n sum(r sin); IEEE Std 1057 sine fit at a known
    frequency; numpy's rfft, bin 1."""
    y = np.random.default_rng(5).normal(size=24)
    deg = np.arange(24) * 15.0
    _, a, b = harmonic_fit(deg, y, 1).solution()
    bin1 = np.fft.rfft(y)[1] * 2 / 24
    assert (a, b) == pytest.approx((bin1.real, -bin1.imag), abs=1e-12)
    rad = np.deg2rad(deg)
    assert (a, b) == pytest.approx((2 / 24 * (y @ np.cos(rad)), 2 / 24 * (y @ np.sin(rad))), abs=1e-12)


def test_certainty_of_evenly_spaced_stations():
    """u(a) = u(b) = s sqrt(2 / N), u(c) = s / sqrt(N)."""
    for n in (4, 8, 12, 24):
        sd = np.sqrt(np.diag(unscaled(harmonic_fit(np.arange(n) * 360.0 / n, np.zeros(n), 1))))
        assert sd == pytest.approx([1 / math.sqrt(n), math.sqrt(2 / n), math.sqrt(2 / n)])


@pytest.mark.parametrize(
    ("n", "a", "b"), [(8, 1.27236, 2.58745), (12, 1.11229, 2.56407), (24, 1.02693, 2.55355)]
)
def test_price_of_fitting_a_drift_over_one_turn(n, a, b):
    """Variances of a1 and b1 with a linear drift as a further unknown, relative to those without."""
    deg = np.arange(n) * 360.0 / n
    plain = unscaled(harmonic_fit(deg, np.zeros(n), 1))
    factor = LeastSquares(4)
    for k, row in enumerate(harmonic_rows(deg, 1)):
        factor.absorb((*row.tolist(), k / n, 0.0))
    with_drift = unscaled(factor)
    assert with_drift[1, 1] / plain[1, 1] == pytest.approx(a, abs=5e-6)
    assert with_drift[2, 2] / plain[2, 2] == pytest.approx(b, abs=5e-6)


@pytest.mark.parametrize(
    ("n", "least"), [(4, 0.70711), (8, 0.92388), (12, 0.96593), (16, 0.98079), (24, 0.99144), (36, 0.99619)]
)
def test_the_swing_of_a_pure_offset_is_at_most_its_tir(n, least):
    """Largest less smallest of N readings lies in [2 e cos(pi / N), 2 e]."""
    swings = []
    for shift in np.linspace(0, 360 / n, 201):
        value = np.cos(np.deg2rad(np.arange(n) * 360 / n + shift))
        swings.append((value.max() - value.min()) / 2.0)
    assert max(swings) == pytest.approx(1.0, abs=1e-4)
    assert min(swings) == pytest.approx(least, abs=1e-4)


@pytest.mark.parametrize(
    ("points", "circle"),
    [
        ([(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)], (4.73978, 2.98353, 4.71423)),
        (
            [(9, 34), (35, 10), (-13, 6), (10, -14), (23, 27), (0, -10)],
            (10.5000862139, 9.65994950584, 23.3335276462),
        ),
    ],
)
def test_geometric_circle(points, circle):
    """Gander, Golub, Strebel, BIT 34 (1994): centre (4.7398, 2.9835), radius 4.7142; and the six points
    of the SciPy cookbook's circle page, recomputed with scipy.optimize.least_squares."""
    from scipy.optimize import least_squares

    found = fit_circle(np.array(points, float))
    assert found == pytest.approx(circle, abs=5e-6)
    xy = np.array(points, float)
    peer = least_squares(
        lambda p: np.hypot(xy[:, 0] - p[0], xy[:, 1] - p[1]) - p[2], [*xy.mean(axis=0), 5.0], method="lm", xtol=1e-15,
        ftol=1e-15,
    )  # fmt: skip
    assert found == pytest.approx(peer.x, rel=1e-7)


def test_amplitude_and_phase_of_an_impedance():
    """JCGM 100:2008, H.2: resistance and reactance, correlated, to magnitude and phase."""
    R, X, uR, uX, r = 127.732169928, 219.846511913, 0.071071407, 0.295581677, -0.588429784
    cov = np.array([[uR**2, r * uR * uX], [r * uR * uX, uX**2]])
    along, across = radial_and_tangential(np.array([R, X]), cov)
    assert math.hypot(R, X) == pytest.approx(254.259701948, abs=5e-9)
    assert along == pytest.approx(0.236336130, abs=5e-7)
    assert across / math.hypot(R, X) == pytest.approx(7.520638e-4, abs=5e-9)


@pytest.mark.parametrize(("nu", "mean"), [(0, 1.25331), (1, 1.54857), (2, 2.27238), (5, 5.10107)])
def test_noise_lengthens_a_vector(nu, mean):
    """Rice distribution (S. O. Rice 1945; scipy.stats.rice): its mean, and the bias that our unbiased
    amount takes off in the square."""
    from scipy.stats import rice

    assert rice.mean(nu) == pytest.approx(mean, abs=5e-6)
    measured = np.array([math.sqrt(nu**2 + 2.0), 0.0])
    assert unbiased_amount(measured, np.eye(2)) == pytest.approx(nu, abs=1e-7)


def test_effective_degrees_of_freedom():
    """JCGM 100:2008, G.4.1: u .25, .57, .82 with 9, 4, 14 degrees: u 1.03, 19.0 degrees, t 2.09."""
    u = [0.25, 0.57, 0.82]
    freedom = welch_satterthwaite([v * v for v in u], [9, 4, 14])
    assert freedom == pytest.approx(18.999, abs=5e-4)
    assert t_quantile(0.975, freedom) == pytest.approx(2.0930, abs=5e-5)


def test_region_of_pure_scatter_has_its_own_degrees_of_freedom():
    for freedom in (1.0, 3.0, 5.0, 20.0):
        effective = effective_freedom(2.0, freedom, np.zeros((2, 2)), 2.0 * np.eye(2))
        assert effective == pytest.approx(freedom, rel=0.05)


def test_a_known_error_one_way_does_not_make_the_other_way_certain():
    claimed = np.diag([1.0, 5.0])
    effective = effective_freedom(1.0, 3.0, np.diag([0.0, 4.0]), claimed)
    assert 3.0 < effective < 12.0


def test_mean_of_twenty_temperatures():
    """JCGM 100:2008, 4.4.3: mean 100.145, s 1.489, u .333."""
    y = [96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68, 100.95,
         101.11, 101.20, 101.57, 101.84, 102.36, 102.72]  # fmt: skip
    factor = LeastSquares(1)
    for value in y:
        factor.absorb((1.0, value))
    s2 = factor.residual_sum / factor.freedom
    assert factor.solution()[0] == pytest.approx(100.145, abs=5e-4)
    assert math.sqrt(s2) == pytest.approx(1.489, abs=5e-4)
    assert math.sqrt(s2 * unscaled(factor)[0, 0]) == pytest.approx(0.333, abs=5e-4)


def test_conformity_of_a_single_value():
    """JCGM 106:2012 (from memory): y 509.7, u 8.6, lower limit 490: probability .99 (.98900955)."""
    far = 1e6
    within = probability_within(far, (far - (509.7 - 490.0), 0.0), np.eye(2) * 8.6**2)
    assert within == pytest.approx(0.98900955, abs=1e-4)


def test_limacon_and_circle():
    """A circle of radius 50 seen from an axis 1 off its centre: second harmonic .0050005, mean
    49.9949996; it matters to ovality and not to the centre."""
    e, radius = 1.0, 50.0
    deg = np.arange(0, 360, 15.0)
    distance = to_circle((0.0, e), deg, radius)
    fitter = Fitter(Setup.from_header({"radius_mm": radius}))
    for d, r in zip(deg, distance, strict=True):
        fitter.add_station(d, np.array([radius - r]), np.array([d]))
    result = fitter.result()
    assert result.form.ovality == pytest.approx(0.0050005001, abs=5e-10)
    assert result.exact.second_order == pytest.approx(e * e / (4 * radius))
    assert result.exact.vector == pytest.approx((0.0, 1.0), abs=1e-6)
    assert result.exact.difference < 3e-6


def test_the_second_order_matters_only_for_tiny_bores_far_off():
    """At 5 thou off in a bore of 150 mm radius it is a hundred-thousandth of a millimetre."""
    fitter = Fitter(Setup.from_header({"radius_mm": 150.0, "tip_radius_mm": 1.5}))
    for d in np.arange(0, 360, 45.0):
        fitter.add_station(d, np.array([0.127 * math.cos(math.radians(d))]), np.array([d]))
    result = fitter.result()
    assert result.exact.second_order < 3e-5
    assert result.exact.difference < 1e-6


def test_degrees_of_freedom_do_not_hang_on_the_unit():
    """Variances of a good dial are ten-millionths of a square millimetre; nothing at all is known beforehand."""
    small = [4e-7, 1e-7]
    found = welch_satterthwaite(small, [5.0, 8.0])
    assert (
        found
        == pytest.approx(welch_satterthwaite([4.0, 1.0], [5.0, 8.0]))
        == pytest.approx(25.0 / (16 / 5 + 1 / 8))
    )
    assert welch_satterthwaite([0.0], [5.0]) == math.inf
