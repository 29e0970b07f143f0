import math

import numpy as np
import pytest

from coaxly.fitter.numeric.quantiles import plane_factor, plane_tail
from coaxly.fitter.shop.mixed import Factor, MixedModel
from coaxly.fitter.shop.reml import fit
from coaxly.fitter.shop.sizes import MANY, Mixture, sizes


def scattered(n, sd, noise, seed=3):
    """One mean, n pieces met once each."""
    y = np.random.default_rng(seed).normal(size=(n, 2)) * math.hypot(sd, noise)
    known = np.broadcast_to(noise**2 * np.eye(2), (n, 2, 2))
    return MixedModel(y, known, np.ones((n, 1)), [Factor("pieces", np.arange(n))])


def test_sizes_that_are_not_known_give_students_t_where_the_sweeps_are_next_to_exact():
    """Box and Tiao (1973), 2.4 (from memory): 2 (n - 1) degrees for n vectors with two components each."""
    model = scattered(6, 1.0, 1e-4)
    told = sizes(fit(model)).mixture(np.ones(1)).student()
    variance = float(((model.y - model.y.mean(axis=0)) ** 2).sum()) / 10.0
    assert told.vector == pytest.approx(model.y.mean(axis=0))
    assert told.freedom == pytest.approx(10.0, rel=0.1)
    reach = plane_factor(0.95, told.freedom) * math.sqrt(told.covariance[0, 0])
    assert reach == pytest.approx(plane_factor(0.95, 10.0) * math.sqrt(variance / 6.0), rel=0.02)


@pytest.mark.parametrize("noise", [1e-4, 0.3, 0.7])
def test_one_as_far_is_as_rare_as_students_t_says(noise):
    """Whatever of the scatter is the sweeps' own."""
    model = scattered(8, 1.0, noise, seed=4)
    apart = sizes(fit(model)).mixture(np.ones(1))
    variance = float(((model.y - model.y.mean(axis=0)) ** 2).sum()) / 14.0 / 8.0
    far = float(np.linalg.norm(model.y.mean(axis=0))) / math.sqrt(variance)
    assert apart.chance_beyond() == pytest.approx(plane_tail(far, 14.0), rel=1e-3)


def test_many_observations_leave_the_fitted_sizes_alone():
    fitted = fit(scattered(MANY, 1.0, 0.1))
    allowed = sizes(fitted)
    assert allowed.nodes.tolist() == [list(fitted.sds)] and allowed.weights.tolist() == [1.0]
    assert math.isinf(allowed.mixture(np.ones(1)).student().freedom)


def test_a_mixture_of_two_sizes_holds_what_it_says():
    rng = np.random.default_rng(0)
    mixed = Mixture(np.array([0.7, 0.3]), np.zeros((2, 2)), np.array([np.eye(2), 9.0 * np.eye(2)]))
    drawn = rng.normal(size=(200_000, 2)) * np.where(rng.random(200_000) < 0.7, 1.0, 3.0)[:, None]
    told = mixed.student()
    radius = np.hypot(*drawn.T) / math.sqrt(told.covariance[0, 0])
    assert told.covariance[0, 0] == pytest.approx(told.covariance[1, 1])
    for share in (0.5, 0.95):
        assert np.mean(radius <= plane_factor(share, told.freedom)) == pytest.approx(share, abs=0.005)
