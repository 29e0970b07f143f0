"""The longest run of readings that a dial which stands may have given."""

import numpy as np

from coaxly.fitter.clues.passed import longest


def by_every_slice(value, room):
    runs = [(b - a, -a) for b in range(len(value) + 1) for a in range(b) if np.ptp(value[a:b]) <= room]
    length, first = max(runs)
    return np.arange(-first, length - first)


def test_the_longest_run_is_that_of_all_slices():
    rng = np.random.default_rng(4)
    for _ in range(200):
        value = np.round(rng.normal(size=rng.integers(1, 30)).cumsum(), 1)
        room = float(rng.choice([0.0, 0.3, 1.0, 3.0, 100.0]))
        assert longest(value, room).tolist() == by_every_slice(value, room).tolist()
