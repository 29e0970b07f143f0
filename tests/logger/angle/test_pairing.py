from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.logger.angle import pairing
from coaxly.logger.angle.pairing import Pairing, Recent
from coaxly.logger.readings import Dwell, Fault, Readings, Track, Undone


def readings(t, value, angle=None, port="indicator", unit="mm"):
    return Readings(
        port,
        np.array(t, float),
        np.array(value, float),
        None if angle is None else np.array(angle, float),
        unit,
    )


def test_a_station_takes_the_readings_of_its_dwell_and_no_others():
    pairing = Pairing("entered", 0.5)
    pairing.readings(readings([0.4, 0.5, 0.6, 1.0], [1, 2, 3, 4]))
    pairing.station(45.0, 1.0)
    (dwell,) = pairing.events()
    assert isinstance(dwell, Dwell) and dwell.value.tolist() == [3, 4]


def test_a_station_without_readings_is_a_fault():
    pairing = Pairing("entered", 0.5)
    pairing.readings(readings([0.1], [1]))
    pairing.station(45.0, 5.0)
    (fault,) = pairing.events()
    assert isinstance(fault, Fault) and "no reading" in fault.what


def test_a_change_of_unit_within_a_dwell_is_a_fault():
    pairing = Pairing("entered", 0.5)
    pairing.readings(readings([1.0], [1]))
    pairing.readings(readings([1.1], [25.4], unit="in"))
    pairing.station(0.0, 1.2)
    (fault,) = pairing.events()
    assert isinstance(fault, Fault) and "unit" in fault.what


def test_undo_is_handed_on_in_order():
    pairing = Pairing("entered", 0.5)
    pairing.readings(readings([1.0], [1]))
    pairing.station(0.0, 1.0)
    pairing.undo()
    assert [type(event) for event in pairing.events()] == [Dwell, Undone]


def test_angles_on_the_line_need_no_pairing():
    pairing = Pairing("combined", 0.5)
    pairing.readings(readings([1, 2], [0.1, 0.2], [10, 20]))
    pairing.readings(readings([3], [0.3]))
    (track,) = pairing.events()
    assert isinstance(track, Track) and track.deg.tolist() == [10, 20]
    assert pairing.without_angle == 1


def encoder_events(blocks):
    pairing = Pairing("encoder", 0.5)
    out = []
    for block in blocks:
        pairing.readings(block)
        out += [
            (t, d) for e in pairing.events() if isinstance(e, Track) for t, d in zip(e.t, e.deg, strict=True)
        ]
    return pairing, out


def test_encoder_angles_are_interpolated_in_time_and_never_beyond_the_newest():
    pairing, out = encoder_events(
        [
            readings([0.0, 1.0], [350, 10], port="encoder"),
            readings([-0.5, 0.5, 1.5], [1, 2, 3]),
        ]
    )
    assert out == [(0.5, 360.0)]
    assert pairing.without_angle == 1
    pairing.readings(readings([2.0], [30], port="encoder"))
    (track,) = pairing.events()
    assert track.deg.tolist() == [380.0] and track.t.tolist() == [1.5]


@given(st.lists(st.floats(0.0, 4.0), max_size=8))
def test_blocks_of_encoder_and_indicator_change_nothing(cuts):
    te = np.arange(40) * 0.1
    angle = np.mod(np.cumsum(np.random.default_rng(1).uniform(-5, 25, 40)), 360.0)
    ti, value = np.arange(90) * 0.04, np.arange(90.0)
    _, whole = encoder_events([readings(ti, value), readings(te, angle, port="encoder")])
    blocks = []
    for a, b in pairwise(sorted({-1.0, 5.0, *cuts})):
        for t, v, port in ((ti, value, "indicator"), (te, angle, "encoder")):
            within = (t > a) & (t <= b)
            if within.any():
                blocks.append(readings(t[within], v[within], port=port))
    _, pieces = encoder_events(blocks)
    assert len(whole) == 90 and pieces == whole


def test_readings_that_wait_for_a_silent_encoder_are_given_up_when_none_can_come():
    pairing = Pairing("encoder", 0.5)
    t = np.arange(100) * 0.01
    pairing.readings(readings(t, t))
    pairing.readings(readings(t, t, port="encoder"))
    pairing.settle(0.99)
    for k in range(1, 500):
        pairing.readings(readings([0.99 + 0.01 * k], [0.0]))
        pairing.settle(0.99 + 0.01 * k)
        assert pairing._held <= 26
    assert pairing.without_angle == 499
    assert pairing.outage_s == pytest.approx(4.98)
    assert pairing.encoder_behind_s == pytest.approx(4.99)


def test_a_dwell_with_endless_readings_at_one_time_is_bounded_and_ignores_blocks(monkeypatch):
    monkeypatch.setattr(pairing, "MOST", 10)
    taken = []
    for size in (1, 3, 100):
        recent = Recent(0.5)
        value = np.arange(100.0)
        for k in range(0, 100, size):
            recent.add(readings(np.zeros(len(value[k : k + size])), value[k : k + size]))
            assert len(recent._blocks) <= 10
        taken.append(recent.dwelled(0.0)[2].tolist())
    assert taken == [np.arange(90.0, 100.0).tolist()] * 3


def test_two_indicators_are_both_needed_and_both_handed_on():
    pairing = Pairing("entered", 0.5, two=True)
    pairing.readings(readings([1.0, 1.1], [0.3, 0.5]))
    pairing.station(0.0, 1.2)
    (fault,) = pairing.events()
    assert isinstance(fault, Fault) and fault.port == "opposite"
    pairing.readings(readings([1.15], [0.1], port="opposite", unit="in"))
    pairing.station(0.0, 1.2)
    (dwell,) = pairing.events()
    assert dwell.value.tolist() == [0.3, 0.5]
    assert dwell.opposite.tolist() == [0.1] and dwell.opposite_unit == "in"
