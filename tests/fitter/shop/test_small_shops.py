"""What is told of few jobs is told as surely as so few allow (the bench has the whole table)."""

from functools import partial

import pytest
from bench.smallshops import one
from chances import Tries, keeps, seldom


@pytest.mark.parametrize(("jobs", "once"), [(7, True), (12, False)])
def test_small_shops_are_told_no_more_than_they_show(jobs, once):
    shops = Tries(partial(one, jobs, once=once))
    assert keeps(shops.column(0)) and seldom(shops.column(1), poor=0.15) and seldom(shops.column(2))
