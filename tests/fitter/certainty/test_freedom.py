"""The zero of a monotone function, as plain halving has it and with fewer questions."""

import math

import pytest

from coaxly.fitter.certainty.freedom import root


def halved(f, low, high):
    """What the zero is by halving alone: each middle is asked for."""
    rising = f(high) > f(low)
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (low, middle) if (f(middle) > 0.0) == rising else (middle, high)
        if high - low <= 1e-6 * abs(high):
            break
    return (low + high) / 2.0


@pytest.mark.parametrize(
    ("f", "low", "high"),
    [
        (lambda x: math.erf(x) - 0.95, 0.0, 40.0),
        (lambda x: math.exp(-x * x / 0.02) - 0.05, 1e-3, 1e3),
        (lambda x: x**9 - 1e-9, 0.0, 7.0),
        (lambda x: 3.0 - math.exp(x), -2.0, 13.8),
        (lambda x: 1.0 if x > 0.3 else -1.0, 0.0, 1.0),
        (lambda x: x - 0.5, 0.0, 1.0),
        (lambda x: x + 1.0, 0.0, 1.0),  # its zero is below
        (lambda x: -x - 1.0, 0.0, 1.0),
        (lambda x: x - 5.0, 0.0, 1.0),  # above
    ],
)
def test_a_zero_is_that_of_halving_to_the_bit(f, low, high):
    asked = []

    def counted(x):
        asked.append(x)
        return f(x)

    assert root(counted, low, high) == halved(f, low, high)
    assert len(asked) < 40


def test_a_smooth_zero_takes_half_the_questions_of_halving():
    asked = []
    root(lambda x: asked.append(x) or math.erf(x) - 0.95, 0.0, 6.0)
    assert len(asked) <= 14  # halving asks for 24
