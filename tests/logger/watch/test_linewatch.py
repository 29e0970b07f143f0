from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from coaxly.logger.readings import Fault, Readings
from coaxly.logger.watch.linewatch import SILENT_S, LineWatch


def block(t, values):
    return Readings("indicator", np.array(t, float), np.array(values, float), None, "mm")


def words(notes):
    return [note.what for note in notes]


def test_silence_is_said_once_and_its_end_too():
    watch = LineWatch()
    assert watch.tick(5.0) == []
    watch.readings(block([1.0], [0.1]))
    assert watch.tick(1.0 + SILENT_S) == []
    assert "silent" in words(watch.tick(1.1 + SILENT_S))[0]
    assert watch.tick(20.0) == [] and watch.trouble == "silent"
    assert "speaks again" in words(watch.readings(block([21.0], [0.1])))[0]
    assert not watch.trouble


def test_what_an_instrument_says_of_itself_is_news_once_for_each_port():
    watch = LineWatch()
    held = Fault(1.0, "indicator", "on hold", False, "hold", "H")
    assert [watch.says(each) for each in (held, held, replace(held, port="opposite"), held)] == [
        True, False, True, False,
    ]  # fmt: skip


def test_a_flood_is_told_after_one_whole_second_and_once():
    watch, rng = LineWatch(), np.random.default_rng(1)
    told = []
    for k in range(30):  # tenths of a second, four hundred lines in each
        t = 0.1 * k + np.arange(400) / 4000.0
        told += [
            (k, note)
            for note in words(watch.readings(block(t, rng.normal(0.5, 0.001, 400))))
            if "lines a second" in note
        ]
    assert [k for k, _ in told] == [10]


def test_a_switch_of_the_unit_is_a_jump_by_25_4():
    watch = LineWatch()
    assert watch.readings(block([0, 1], [0.5, 0.51])) == []
    assert "between mm and inch" in words(watch.readings(block([2.0], [0.51 / 25.4])))[0]
    assert "jumped back" in words(watch.readings(block([3.0], [0.51])))[0]


def test_a_jump_stands_until_it_jumps_back_or_the_line_is_opened_anew():
    watch = LineWatch()
    watch.readings(block([0, 1], [0.5, 0.5 * 25.4]))
    assert watch.switched_to == "mm"
    watch.readings(block([2.0], [12.0]))
    assert watch.switched_to == "mm"
    assert "jumped back by 25.4 times" in words(watch.readings(block([3.0], [12.0 / 25.4])))[0]
    assert watch.switched_to == ""
    watch.readings(block([4.0], [0.02]))
    watch.readings(block([5.0], [0.02 * 25.4]))
    assert watch.switched_to == "mm"
    watch.connected(6.0)
    assert watch.switched_to == ""


def test_a_dial_that_is_asked_one_by_one_or_read_off_says_too_little_of_its_unit():
    watch = LineWatch(on_demand=True)
    assert watch.readings(block([0, 9], [0.5, 0.5 * 25.4])) == [] and watch.switched_to == ""


def test_near_zero_a_factor_says_nothing():
    watch = LineWatch()
    assert watch.readings(block([0, 1, 2], [0.001, 0.0254, 0.0])) == []


def test_a_dial_on_hold_is_noticed_at_the_third_station():
    watch = LineWatch()
    assert watch.station(0.5, 1.0) == [] and watch.station(0.5, 2.0) == []
    assert "exactly the same" in words(watch.station(0.5, 3.0))[0]
    assert watch.station(0.5, 4.0) == [] and watch.station(0.5, 5.0) == []
    assert watch.station(0.51, 6.0) == []


def test_a_lazy_dial_is_said_once():
    watch = LineWatch()
    said = watch.readings(block(np.arange(40) * 0.1, np.zeros(40)))
    said += watch.readings(block(4.0 + np.arange(40) * 0.3, np.zeros(40)))
    said += watch.readings(block(16.0 + np.arange(40) * 0.3, np.zeros(40)))
    assert len(said) == 1 and "readings a second" in said[0].what


def test_a_program_that_slept_does_not_take_the_dial_for_lazy():
    watch = LineWatch()
    said = watch.readings(block(np.arange(60) * 0.05, np.zeros(60)))
    for t in 9.0 + np.arange(60) * 0.05:  # six seconds in the shell
        said += watch.readings(block([t], [0.0]))
    for t in 12.0 + np.arange(60) * 0.15:  # and now it is
        said += watch.readings(block([t], [0.0]))
    assert len(said) == 1 and said[0].t > 12.0


def test_a_lost_cable_is_not_told_as_a_silent_dial_too():
    watch = LineWatch()
    watch.readings(block([0.0, 0.1], [0.0, 0.0]))
    watch.lost()
    assert watch.tick(60.0) == [] and not watch.trouble
    watch.connected(61.0)
    assert "silent" in words(watch.tick(64.0))[0]


@given(
    st.lists(
        st.sampled_from([0.0, 0.05, 0.1, 0.5, 2.54, 12.7, -12.7, 0.5 / 25.4, -0.1, 25.4]),
        min_size=1,
        max_size=30,
    )
)
def test_a_switched_unit_is_seen_in_single_readings_as_in_a_block(values):
    """A block names its first jump; one by one each is named."""
    single, whole = LineWatch(), LineWatch()
    notes = [note for k, value in enumerate(values) for note in single.readings(block([0.1 * k], [value]))]
    assert whole.readings(block(0.1 * np.arange(len(values)), values)) == notes[:1]
