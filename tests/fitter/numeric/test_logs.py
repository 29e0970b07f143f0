"""Chances of normal vectors that are bounded, against exact ones and against draws."""

import math

import numpy as np
import pytest

from coaxly.fitter.numeric.logs import log_below, log_sum


def test_a_sum_of_logarithms_neither_overflows_nor_vanishes():
    assert log_sum(np.array([-2000.0, -2000.0])) == pytest.approx(-2000.0 + math.log(2.0))
    assert log_sum(np.array([900.0, 899.0])) == pytest.approx(900.0 + math.log1p(math.exp(-1.0)))


@pytest.mark.parametrize("level", [-2.0, 0.0, 1.5])
def test_of_one_bounded_part_chance_and_moments_are_exact(level):
    """Of a standard normal variate x below a level, and of y = x / 2 + something else of variance 3 / 4."""
    log, mean, covariance = log_below(
        np.zeros((1, 2)), np.array([[[1.0, 0.5], [0.5, 1.0]]]), np.array([level])
    )
    below = 0.5 * math.erfc(-level / math.sqrt(2.0))
    hazard = math.exp(-0.5 * level**2) / math.sqrt(2.0 * math.pi) / below
    assert log[0] == pytest.approx(math.log(below), rel=1e-9)
    assert mean[0, 0] == pytest.approx(-0.5 * hazard, rel=1e-9)
    assert covariance[0, 0, 0] == pytest.approx(1.0 - 0.25 * hazard * (level + hazard), rel=1e-9)


def test_of_several_they_are_near_what_draws_come_to():
    dice = np.random.default_rng(4)
    root = dice.normal(size=(5, 5))
    covariance, mean = root @ root.T, dice.normal(size=5)
    level = mean[:3] + np.array([0.5, -0.3, 0.2]) * np.sqrt(np.diag(covariance)[:3])
    drawn = dice.multivariate_normal(mean, covariance, 400_000)
    kept = drawn[(drawn[:, :3] <= level).all(axis=1)][:, 3:]
    log, found, spread = log_below(mean[None], covariance[None], level)
    assert math.exp(log[0]) == pytest.approx(len(kept) / len(drawn), rel=0.1)
    sizes = np.sqrt(np.diag(covariance)[3:])
    assert np.abs(found[0] - kept.mean(axis=0)).max() < 0.1 * sizes.min()
    assert np.allclose(spread[0], np.cov(kept.T), atol=0.1 * float(sizes.max()) ** 2)
