"""What is said of the amount of an offset holds at every true amount, the smallest ones included."""

import math

import numpy as np
import pytest

from coaxly.fitter.certainty.amount import (
    detectable,
    expanded_amount,
    expanded_direction,
    is_detected,
    unbiased_amount,
)

NOISE = np.random.default_rng(11).normal(size=(20_000, 2))


@pytest.mark.parametrize("true", [0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0])
def test_the_interval_holds_the_true_amount_and_is_no_wider_than_it_must(true):
    """Within 94.9 and 97.1 %, and three standard deviations of a share of 20,000."""
    held = 0
    for vector in NOISE + np.array([0.0, true]):
        held += abs(math.hypot(*vector) - true) <= expanded_amount(vector, np.eye(2), math.inf)
    assert 0.949 - 0.005 <= held / len(NOISE) <= 0.971 + 0.005


def test_noise_is_taken_off_the_square_of_a_length():
    """E |v + noise|^2 = |v|^2 + both variances."""
    covariance = np.diag([0.04, 0.09])
    assert unbiased_amount(np.array([3.0, 4.0]), covariance) == pytest.approx(math.sqrt(25.0 - 0.13))
    assert unbiased_amount(np.array([0.1, 0.0]), covariance) == 0.0
    seen = NOISE * np.array([0.2, 0.3]) + np.array([0.6, 0.8])
    assert np.mean((seen**2).sum(axis=1) - 0.13) == pytest.approx(1.0, abs=0.02)


def test_noise_alone_passes_for_an_offset_once_in_twenty():
    alarms = sum(is_detected(vector, np.eye(2), math.inf) for vector in NOISE)
    assert alarms / len(NOISE) == pytest.approx(0.05, abs=0.006)
    assert detectable(np.diag([1.0, 4.0]), math.inf) == pytest.approx(2.0 * math.sqrt(-2 * math.log(0.05)))


@pytest.mark.parametrize("ratio", [2.0, 4.0])
@pytest.mark.parametrize("towards", [0.0, 45.0, 90.0])
def test_it_holds_where_the_vector_is_surer_one_way_than_the_other(ratio, towards):
    """Within 94.1 and 99.5 %, and three standard deviations of a share of 2,000."""
    away = np.array([math.cos(math.radians(towards)), math.sin(math.radians(towards))])
    covariance = np.diag([1.0, ratio**2])
    for true in (0.0, 1.0, 3.0, 6.0, 10.0):
        seen = NOISE[:2000] * np.array([1.0, ratio]) + true * away
        held = [abs(math.hypot(*one) - true) <= expanded_amount(one, covariance, math.inf) for one in seen]
        assert 0.941 - 0.016 <= np.mean(held) <= 0.998


def test_what_is_known_of_the_component_along_counts():
    covariance = np.diag([4.0, 1.0])
    assert expanded_amount(np.array([100.0, 0.0]), covariance, math.inf, 3.0) == pytest.approx(3.0, abs=0.01)
    assert expanded_amount(np.array([100.0, 0.0]), covariance, math.inf) == pytest.approx(3.92, abs=0.01)


@pytest.mark.parametrize("ratio", [1.0, 4.0])
@pytest.mark.parametrize("towards", [0.0, 30.0, 60.0, 90.0])
def test_the_direction_holds_however_sure_the_vector_is_each_way(ratio, towards):
    """95 %, and three standard deviations of a share of 2,000, from three times the smaller scatter on; of a
    smaller offset the line holds, and one in twenty is taken for one the other way."""
    true = np.array([math.cos(math.radians(towards)), math.sin(math.radians(towards))])
    covariance = np.diag([1.0, ratio**2])
    for length in (3.0, 6.0, 12.0, 40.0):
        seen = NOISE[:2000] * np.array([1.0, ratio]) + length * true
        off = np.degrees(np.arctan2(seen @ [-true[1], true[0]], seen @ true))
        bars = [expanded_direction(vector, covariance, math.inf) for vector in seen]
        assert np.mean(np.abs(off) <= bars) >= 0.95 - 0.016
        if length > 6.0 * ratio:
            assert np.mean(np.abs(off) <= bars) <= 0.985


def test_of_a_round_scatter_a_direction_is_known_to_the_angle_under_which_it_is_seen():
    assert expanded_direction(np.array([3.0, 4.0]), np.eye(2), math.inf) == pytest.approx(
        math.degrees(math.asin(1.959964 / 5.0)), abs=1e-4
    )
    assert expanded_direction(np.array([1.0, 0.0]), np.eye(2), math.inf) == 180.0
    assert expanded_direction(np.zeros(2), np.eye(2), math.inf) == 180.0
