import math

import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import ncx2

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.certainty.amount import expanded_amount, is_detected
from coaxly.fitter.certainty.decision import conformity, judge, probability_within
from coaxly.fitter.numeric.quantiles import plane_factor, t_quantile


@pytest.mark.parametrize(
    ("radius", "mean", "sd"), [(1, 0.5, 0.3), (1, 1, 0.01), (1, 3, 2), (1, 0, 5), (2, 1.99, 1e-4)]
)
@pytest.mark.parametrize("deg", [0, 37, 90])
def test_round_scatter_agrees_with_the_noncentral_chi_square(radius, mean, sd, deg):
    vector = (mean * math.cos(math.radians(deg)), mean * math.sin(math.radians(deg)))
    expected = ncx2.cdf((radius / sd) ** 2, 2, (mean / sd) ** 2)
    assert probability_within(radius, vector, np.eye(2) * sd**2) == pytest.approx(expected, abs=1e-7)


def test_student_scatter_agrees_with_simulation():
    cov = np.array([[0.04, 0.03], [0.03, 0.09]])
    rng = np.random.default_rng(3)
    n = 400_000
    z = rng.multivariate_normal([0, 0], cov, n) / np.sqrt(rng.chisquare(4, n) / 4)[:, None] + [0.3, -0.6]
    seen = float((np.hypot(*z.T) < 0.8).mean())
    assert probability_within(0.8, (0.3, -0.6), cov, 4) == pytest.approx(seen, abs=4 * math.sqrt(0.24 / n))


def test_no_scatter_is_certainty():
    assert probability_within(1.0, (0.5, 0.5), np.zeros((2, 2))) == pytest.approx(1.0)
    assert probability_within(1.0, (1.5, 0.5), np.zeros((2, 2))) == pytest.approx(0.0)
    assert probability_within(0.0, (0.0, 0.0), np.eye(2)) == 0.0


def test_far_from_the_origin_it_is_the_one_sided_rule_of_jcgm_106():
    """JCGM 106:2012, 7.4.1: Phi((T - y) / u); with y far out the limit's circle is as good as a line."""
    for z in (-1.64, 0.0, 1.28, 1.64, 2.33):
        assert probability_within(1000.0, (1000.0 - z, 0.0), np.eye(2)) == pytest.approx(
            float(ndtr(z)), abs=1e-3
        )


@pytest.mark.parametrize("freedom", [1.5, 3.0, 20.0, math.inf])
@pytest.mark.parametrize("sd", [0.01, 0.3, 1.0, 20.0])
def test_outside_is_never_said_of_what_may_stand_true(sd, freedom):
    """A limit much smaller than the scatter has next to no probability, wherever the vector lies."""
    covariance = np.diag([sd**2, (2.0 * sd) ** 2])
    for far in (0.0, 0.5, 2.0, 3.0, 10.0, 100.0):
        vector = np.array([far * sd, far * sd])
        verdict = judge(conformity(1.0, vector, covariance, freedom))
        assert verdict != "outside" or is_detected(vector, covariance, freedom)
    for clear in (200.0, 5000.0):
        assert judge(conformity(sd, np.array([clear * sd, 0.0]), covariance, freedom)) == "outside"


def test_a_verdict_is_no_surer_than_an_offset_is():
    """Seen with an error of one in a hundred, an offset makes nobody surer than that of being outside."""
    vector = np.array([math.sqrt(-2.0 * math.log(0.01)), 0.0])
    assert conformity(1e-3, vector, np.eye(2), math.inf) == pytest.approx(0.01)
    assert conformity(1e-3, 2.0 * vector, np.eye(2), math.inf) < 1e-7


@pytest.mark.parametrize("freedom", [2.0, 5.0, 20.0, math.inf])
@pytest.mark.parametrize("across", [0.2, 1.0, 3.0])
def test_no_verdict_is_surer_than_the_bar_that_is_drawn_across_the_limit(across, freedom):
    """One end of a 95 % bar leaves 2.5 %: with the limit inside the bar nobody is surer than 97.5 %."""
    covariance = np.diag([1.0, across**2])
    for length in np.linspace(0.5, 12.0, 12):
        vector = np.array([length, 0.0])
        bar = expanded_amount(vector, covariance, freedom)
        for share in (-0.99, -0.5, 0.3, 0.7, 0.99):
            if (radius := length - share * bar) > 0.0:
                assert 0.0249 < conformity(radius, vector, covariance, freedom) < 0.9751


def test_the_bound_does_not_make_a_housing_inside():
    """Centred on the crank, scatter as large as the limit: no offset would look like this every time."""
    covariance = np.eye(2)
    within = probability_within(1.5, (0.1, 0.0), covariance)
    assert 0.5 < within < 0.95
    assert conformity(1.5, np.array([0.1, 0.0]), covariance, math.inf) == within
    assert conformity(0.5, np.array([0.1, 0.0]), covariance, math.inf) == 0.5


def test_a_dial_that_tells_nothing_gives_no_verdict():
    """Readings all over the place once came to "OUTSIDE (97.7 % sure)" beside "no direction was found"."""
    fitter = Fitter(Setup())
    for k, thou in enumerate((0, 25, -9, 14, -22, 30, 3, -14)):
        fitter.add_station(45.0 * k, np.array([thou * 0.0254]), np.array([float(k)]))
    result = fitter.result()
    assert not result.eccentricity.detected
    assert result.decision.state == "unsure"


@pytest.mark.parametrize(
    ("p", "state"), [(0.96, "inside"), (0.95, "inside"), (0.5, "unsure"), (0.05, "outside")]
)
def test_a_verdict_needs_95_percent(p, state):
    assert judge(p) == state


@pytest.mark.parametrize(
    ("freedom", "t"), [(1, 12.71), (2, 4.30), (3, 3.18), (4, 2.78), (5, 2.57), (10, 2.23), (20, 2.09)]
)
def test_student_quantiles_of_the_gum(freedom, t):
    """JCGM 100:2008, table G.2, 95 %."""
    assert t_quantile(0.975, freedom) == pytest.approx(t, abs=0.005)


def test_plane_factor_is_the_f_quantile():
    from scipy.special import fdtri

    for freedom in (1, 3, 5, 30):
        assert plane_factor(0.95, freedom) == pytest.approx(math.sqrt(2 * fdtri(2, freedom, 0.95)), rel=1e-9)
    assert plane_factor(0.95, math.inf) == pytest.approx(2.44775, abs=1e-5)
