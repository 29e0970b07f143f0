from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from logger.pairing import Pairing
from logger.readings import Dwell, Fault, Readings, Track, Undone


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


@given(st.lists(st.integers(1, 40), max_size=5), st.lists(st.integers(1, 90), max_size=5))
def test_blocks_of_encoder_and_indicator_change_nothing(cuts_e, cuts_i):
    te = np.arange(40) * 0.1
    angle = np.mod(np.cumsum(np.random.default_rng(1).uniform(-5, 25, 40)), 360.0)
    ti, value = np.arange(90) * 0.04, np.arange(90.0)
    _, whole = encoder_events([readings(te, angle, port="encoder"), readings(ti, value)])
    blocks = []
    for t, v, port, cuts in ((te, angle, "encoder", cuts_e), (ti, value, "indicator", cuts_i)):
        edges = sorted({0, len(t), *(c for c in cuts if c < len(t))})
        blocks += [(t[b - 1], readings(t[a:b], v[a:b], port=port)) for a, b in pairwise(edges)]
    blocks.sort(key=lambda entry: entry[0])
    _, pieces = encoder_events([block for _, block in blocks])
    assert pieces == whole


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
