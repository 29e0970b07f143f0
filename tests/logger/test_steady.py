import numpy as np

from logger.readings import Readings
from logger.steady import SteadyWatch


def feed(watch, start, values, rate=0.02):
    t = start + rate * np.arange(len(values))
    watch.readings(Readings("indicator", t, np.array(values, float), None, "mm"))
    return float(t[-1]) + rate


def test_ready_once_for_each_rest_of_the_crank():
    watch = SteadyWatch(0.5, 0.01)
    t = feed(watch, 0.0, [0.1] * 40)
    assert watch.ready
    watch.captured()
    t = feed(watch, t, [0.1] * 40)
    assert watch.steady and not watch.ready
    t = feed(watch, t, np.linspace(0.1, 0.3, 20))
    assert not watch.steady
    feed(watch, t, [0.3] * 40)
    assert watch.ready


def test_a_dwell_must_be_filled():
    watch = SteadyWatch(0.5, 0.01)
    feed(watch, 0.0, [0.1] * 5)
    assert not watch.steady and not watch.ready


def test_a_dial_slower_than_the_dwell_is_steady_from_two_readings():
    watch = SteadyWatch(0.5, 0.01)
    feed(watch, 0.0, [0.1, 0.1], rate=1.0)
    assert watch.ready
    feed(watch, 2.0, [0.3])
    assert not watch.steady


def test_a_swing_wider_than_the_band_is_not_steady():
    watch = SteadyWatch(0.5, 0.01)
    feed(watch, 0.0, [0.1, 0.12] * 20)
    assert not watch.steady
