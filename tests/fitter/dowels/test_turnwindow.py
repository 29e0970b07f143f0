"""How far both dowels may be off their marks, where the angle follows from one triangle."""

import math

import numpy as np
import pytest

from coaxly.fitter.dowels.measurement import Measurement
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.dowels.turnwindow import pair_window, surely_inside

PINS = Pins((-140.0, 0.0), (140.0, 0.0))
SIZE = 0.25
UP = DowelSetting((SIZE, SIZE), (0.0, 0.0))
LOW = np.array([0.0, -SIZE])
"""A bore that two dowels of this size, both up, bring to the middle."""


def limit_for(deg):
    """TIR that both dowels use up where they are off the same way by so many degrees, and a quarter more."""
    return 4.0 * SIZE * math.sin(math.radians(deg + 0.25) / 2.0)


@pytest.mark.parametrize("deg", [0.0, 0.5, 7.5, 40.0])
def test_the_window_is_the_last_half_degree_inside(deg):
    assert pair_window(LOW, UP, PINS, limit_for(deg), math.inf) == pytest.approx(deg)
    known = Measurement(LOW, 1e-14 * np.eye(2), math.inf)
    assert surely_inside(known, UP, PINS.influence(), limit_for(deg), 60.0, 0.0) == pytest.approx(deg)


def test_dowels_that_are_off_opposite_ways_may_bind_before_that():
    bind = 2.0 * SIZE * math.sin(math.radians(3.25))
    assert pair_window(LOW, UP, PINS, limit_for(7.5), bind) == pytest.approx(3.0)


def test_what_is_outside_on_its_marks_has_no_window_and_what_is_never_outside_all_angles():
    assert pair_window(2.0 * LOW, UP, PINS, limit_for(7.5), math.inf) is None
    assert pair_window(LOW, UP, PINS, 4.1 * SIZE, math.inf) == 180.0
    unsure = Measurement(LOW, SIZE**2 * np.eye(2), math.inf)
    assert surely_inside(unsure, UP, PINS.influence(), limit_for(7.5), 7.6, 0.0) is None
    sure = Measurement(LOW, 1e-14 * np.eye(2), math.inf)
    assert surely_inside(sure, UP, PINS.influence(), limit_for(7.5), 7.6, 0.0) == 7.6
    assert surely_inside(sure, UP, PINS.influence(), limit_for(7.5), None, 0.0) is None
