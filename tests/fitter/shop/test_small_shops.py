"""What is told of few jobs is told as surely as so few allow (the bench has the whole table)."""

import pytest
from bench.smallshops import run


@pytest.mark.parametrize(("jobs", "once"), [(7, True), (12, False)])
def test_small_shops_are_told_no_more_than_they_show(jobs, once):
    held, named, surely = run(jobs, 60, once=once)
    assert held >= 0.88  # 95 %, and as much less as 60 shops may show once in two hundred times
    assert named <= 0.15 and surely <= 0.02
