import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from coaxly.logger.readings import Readings
from coaxly.logger.watch.steady import SteadyWatch


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


class Remembering:
    """The rule in the plainest words: look at the whole dwell anew at each reading."""

    def __init__(self, dwell, band):
        self.dwell, self.band, self.recent, self.moved, self.steady = dwell, band, [], True, False

    def reading(self, t, value):
        self.recent.append((t, value))
        while len(self.recent) > 2 and self.recent[1][0] <= t - self.dwell:
            self.recent.pop(0)
        values = [v for _, v in self.recent]
        still = max(values) - min(values) <= self.band
        self.moved = self.moved or not still
        self.steady = still and self.recent[0][0] <= t - self.dwell

    def captured(self):
        self.moved, self.recent, self.steady = False, [], False


@given(
    st.lists(
        st.tuples(st.sampled_from([0.0, 0.05, 0.1, 0.7]), st.integers(0, 4), st.booleans()), max_size=80
    ),
    st.lists(st.integers(1, 80), max_size=5),
)
def test_steady_by_the_plain_rule_however_readings_are_cut_into_blocks(steps, cuts):
    plain, single, blocks = Remembering(0.5, 0.02), SteadyWatch(0.5, 0.02), SteadyWatch(0.5, 0.02)
    t, waiting = 0.0, []
    for k, (step, level, capture) in enumerate(steps):
        t += step
        plain.reading(t, 0.01 * level)
        feed(single, t, [0.01 * level])
        waiting.append((t, 0.01 * level))
        if k in cuts or capture:
            times, values = np.array(waiting).T
            blocks.readings(Readings("indicator", times, values, None, "mm"))
            waiting = []
            assert (blocks.steady, blocks.ready) == (plain.steady, plain.moved and plain.steady)
        assert (single.steady, single.ready) == (plain.steady, plain.moved and plain.steady)
        if capture:
            for watch in (plain, single, blocks):
                watch.captured()


def test_a_clock_that_stands_still_does_not_fill_the_memory():
    watch = SteadyWatch(0.5, 0.01)
    n = 250_000
    watch.readings(Readings("indicator", np.zeros(n), np.zeros(n), None, "mm"))
    assert len(watch._times) <= 100_000 and not watch.steady
