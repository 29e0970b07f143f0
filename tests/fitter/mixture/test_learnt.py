"""What many sweeps tell of a size that nobody knows beforehand."""

import numpy as np
import pytest

from coaxly.fitter.mixture.learnt import WORTH, learnt

USUAL = ((0.1, 0.25), (0.3, 0.5), (1.0, 0.2), (3.0, 0.05))


def shares(sizes):
    return np.array([share for _, share in sizes])


def test_what_is_usual_stays_where_sweeps_tell_nothing():
    same = shares(USUAL)
    found = learnt(USUAL, [same] * 50, [1.0] * 50)
    assert [size for size, _ in found] == [size for size, _ in USUAL]
    assert shares(found) == pytest.approx(same, abs=1e-9)


def test_sweeps_that_all_tell_one_size_make_it_the_shop_s_and_rule_nothing_out():
    sure = [0.0, 0.0, 1.0, 0.0]
    for count in (1, 12, 1000):
        found = shares(learnt(USUAL, [sure] * count, [1.0] * count))
        assert found[2] == pytest.approx((WORTH * 0.2 + count) / (WORTH + count))
        assert found.sum() == pytest.approx(1.0) and found.min() > 0.0


def test_sweeps_that_hardly_tell_it_alone_tell_it_together():
    """Each is hardly likelier under the third size than under the second: thirty of them say so."""
    weak = shares(USUAL) * [0.3, 0.8, 1.6, 0.3]
    alone, together = (shares(learnt(USUAL, [weak / weak.sum()] * n, [1.0] * n)) for n in (1, 30))
    assert alone[1] > alone[2] and together[2] > 2.0 * together[1]


def test_a_piece_that_was_swept_twice_counts_once():
    one, other = [0.0, 1.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0]
    twice = learnt(USUAL, [one, one, other], [0.5, 0.5, 1.0])
    assert shares(twice) == pytest.approx(shares(learnt(USUAL, [one, other], [1.0, 1.0])))
