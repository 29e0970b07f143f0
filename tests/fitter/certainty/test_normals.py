"""What is read off a mixture of normal errors is what draws from it show."""

import math

import numpy as np
import pytest

from coaxly.fitter.certainty.decision import probability_within
from coaxly.fitter.certainty.normals import Normals

DRAWS = 100_000


def drawn(seed, parts=2000):
    """A mixture with a few far parts, and errors drawn from it, (DRAWS, 2)."""
    rng = np.random.default_rng(seed)
    weight = rng.exponential(size=parts) ** 2
    size = np.exp(rng.normal(0.0, 0.8, parts)) * 0.005
    axes = rng.normal(size=(parts, 2, 2)) * 0.3 + np.diag([1.0, rng.uniform(0.3, 1.0)])
    covariance = np.einsum("m,mij,mkj->mik", size**2, axes, axes)
    mean = rng.normal(size=(parts, 2)) * size[:, None] * 0.7
    made = Normals(weight / weight.sum(), mean, covariance)
    which = rng.choice(parts, DRAWS, p=made.weight)
    roots = np.linalg.cholesky(covariance)
    return made, mean[which] + np.einsum("nij,nj->ni", roots[which], rng.normal(size=(DRAWS, 2)))


@pytest.mark.parametrize("seed", range(4))
def test_half_widths_and_chances_are_those_of_draws(seed):
    made, errors = drawn(seed)
    binned = made.binned()
    towards = np.array([math.sin(seed), math.cos(seed)])
    vector = 0.02 * seed * towards
    along = np.quantile(np.abs(errors @ towards), 0.95)
    assert made.half_width(towards) == pytest.approx(along, rel=0.015)
    assert binned.half_width(towards) == pytest.approx(along, rel=0.03)
    for radius in (0.01, 0.04, 0.07):
        inside = float(np.mean(np.hypot(*(errors + vector).T) <= radius))
        assert made.within(radius, vector) == pytest.approx(inside, abs=0.005)
        assert binned.within(radius, vector) == pytest.approx(inside, abs=0.012)


@pytest.mark.parametrize("sd", [1.0, 1e-3, 1e-6])
def test_an_error_that_is_all_but_known_has_a_bar_that_reaches_it(sd):
    made = Normals(np.ones(1), np.array([[3.0, 0.0]]), sd**2 * np.eye(2)[None])
    assert made.half_width(np.array([1.0, 0.0])) == pytest.approx(3.0 + 1.645 * sd, rel=1e-3)


def test_bins_keep_weight_mean_and_second_moments():
    made, _ = drawn(7)
    binned = made.binned()
    assert 20 * len(binned.weight) < len(made.weight)
    assert binned.weight.sum() == pytest.approx(1.0)
    assert binned.weight @ binned.mean == pytest.approx(made.weight @ made.mean)
    whole = np.tensordot(made.weight, made.spreads, 1)
    assert np.tensordot(binned.weight, binned.spreads, 1) == pytest.approx(whole)


@pytest.mark.parametrize(
    "sd", [(1e-3, 1e-3), (1e-4, 2e-3), (2e-3, 1e-4), (1.0, 2.0), (0.01, 0.05), (0.0, 0.002)]
)
@pytest.mark.parametrize("vector", [(0.0635, 0.0), (0.0, 0.06), (0.0, 0.0), (0.3, 0.3)])
def test_one_part_is_a_normal_error(sd, vector):
    made = Normals(np.ones(1), np.zeros((1, 2)), np.diag(np.square(sd))[None])
    exactly = probability_within(0.0635, vector, np.diag(np.square(sd)), math.inf)
    assert made.within(0.0635, np.array(vector)) == pytest.approx(exactly, abs=2e-3)
    assert made.half_width(np.array([0.0, 1.0])) == pytest.approx(1.959964 * sd[1], rel=1e-4)


def test_no_limit_holds_nothing():
    made, _ = drawn(1, 5)
    assert made.within(0.0, np.zeros(2)) == 0.0
