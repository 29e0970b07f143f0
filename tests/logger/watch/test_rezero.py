"""A key that sets the dial to zero is told from a knock and from a hand at the crank."""

import numpy as np
import pytest

from coaxly.logger.readings import Readings
from coaxly.logger.watch.rezero import RezeroWatch


def found(values, rate=10.0, unit="mm", cuts=()):
    watch, out = RezeroWatch(0.01), []
    t = np.arange(len(values)) / rate
    for part in np.split(np.arange(len(values)), cuts):
        if len(part):
            out += watch.readings(Readings("indicator", t[part], np.array(values, float)[part], None, unit))
    return [(round(fault.t, 6), fault.kind, float(fault.word)) for fault in out]


AT_REST = [0.312, 0.313, 0.312, 0.312, 0.312, 0.312]


@pytest.mark.parametrize("between", [[], [0.2]])
def test_zero_pressed_at_rest(between):
    values = AT_REST + between + [0.0, 0.001, 0.0, 0.0, 0.05, 0.1]
    ((t, kind, by),) = found(values)
    assert (t, kind) == (pytest.approx(0.1 * len(AT_REST + between)), "rezeroed")
    assert by == pytest.approx(-0.312, abs=0.001)
    for cut in range(1, len(values)):
        assert found(values, cuts=(cut,)) == found(values)
    assert found(values, cuts=range(1, len(values))) == found(values)


def test_a_round_preset():
    assert found([*AT_REST, 10.0, 10.0, 10.0, 10.0])[0][2] == pytest.approx(9.688, abs=0.001)
    assert found([0.0312] * 6 + [0.5] * 4, unit="in")[0][2] == pytest.approx(0.4688 * 25.4, abs=0.01)


@pytest.mark.parametrize(
    "values",
    [
        [*AT_REST, 0.101, 0.101, 0.101, 0.101, 0.101],  # a knock: to nowhere in particular
        [*AT_REST, 0.2, 0.1, 0.05, 0.0, 0.0, 0.0, 0.0],  # turned, slowly, to a place that reads zero
        [*AT_REST, 0.0, -0.05, -0.1, -0.15],  # turned on past zero
        [0.4, 0.35, 0.31, 0.2, 0.1, 0.0, 0.0, 0.0, 0.0],  # never at rest before
        [0.005] * 6 + [0.0] * 6,  # a flicker
        [*AT_REST, 0.0, 0.0],  # not yet known
    ],
)
def test_what_is_none(values):
    assert found(values) == []


def test_a_slow_dial_may_have_been_turned_between_two_readings():
    assert found(AT_REST + [0.0] * 5, rate=2.0) == []


def test_a_fast_dial_rests_for_many_readings():
    assert len(found([0.3] * 900 + [0.0] * 20, rate=5000.0, cuts=(100, 850, 899, 901))) == 1
