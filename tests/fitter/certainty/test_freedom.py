"""The zero of a function that falls, asked for few times; and degrees of freedom by it."""

import math

import numpy as np
import pytest

from coaxly.fitter.certainty.freedom import freedom_of_ratio, radius, root
from coaxly.fitter.numeric.quantiles import plane_factor


def normal_tail(x):
    return 0.05 - math.erf(x) + 0.9, -2.0 / math.sqrt(math.pi) * math.exp(-x * x)


@pytest.mark.parametrize(
    ("f", "low", "start", "high", "zero"),
    [
        (lambda x: (math.exp(-x) - 0.05, -math.exp(-x)), 0.0, 1.0, 40.0, -math.log(0.05)),
        (lambda x: (1e-9 - x**9, -9.0 * x**8), 0.0, 7.0, 7.0, 0.1),
        (lambda x: (3.0 - math.exp(x), -math.exp(x)), -2.0, 13.0, 13.8, math.log(3.0)),
        (lambda x: (-1.0 if x > 0.3 else 1.0, 0.0), 0.0, 0.5, 1.0, 0.3),
        (
            lambda x: (math.atan(5.0 - 9.0 * x), -9.0 / (1.0 + (5.0 - 9.0 * x) ** 2)),
            0.0,
            99.0,
            100.0,
            5.0 / 9.0,
        ),
        (lambda x: (-x - 1.0, -1.0), 0.0, 0.5, 1.0, 0.0),  # its zero is below
        (lambda x: (-x - 1.0, -1.0), 0.5, 0.0, 1.0, 0.5),
        (lambda x: (5.0 - x, -1.0), 0.0, 0.5, 1.0, 1.0),  # above
    ],
)
def test_a_zero_is_found_or_the_end_that_is_nearer(f, low, start, high, zero):
    asked = []

    def counted(x):
        asked.append(x)
        return f(x)

    assert root(counted, low, start, high) == pytest.approx(zero, rel=1e-6)
    assert len(asked) < 80


def test_a_smooth_zero_takes_few_questions():
    asked = []
    root(lambda x: asked.append(x) or normal_tail(x), 0.0, 1.0, 6.0)
    assert len(asked) <= 6


def test_a_region_of_next_to_nothing_has_the_least_radius():
    assert radius(np.ones(1), np.full((1, 16), 1e-12), 0.95, 1e-3) == 1e-3
    assert radius(np.ones(1), np.ones((1, 16)), 0.95, 1e-3) == pytest.approx(plane_factor(0.95, math.inf))


@pytest.mark.parametrize("freedom", [0.5, 1.0, 2.0, 7.3, 60.0, 5000.0])
def test_degrees_of_freedom_are_told_by_the_tail(freedom):
    ratio = plane_factor(0.95, freedom) / plane_factor(0.5, freedom)
    assert freedom_of_ratio(ratio) == pytest.approx(freedom, rel=1e-4)
