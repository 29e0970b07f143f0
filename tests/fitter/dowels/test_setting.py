"""Two dowels as they are set, and whether others would be set the same."""

import pytest

from coaxly.fitter.dowels.setting import DowelSetting
from coaxly.fitter.units import MM_PER_THOU as THOU


@pytest.mark.parametrize(
    ("dowels", "same"),
    [
        ([(5 * THOU, 92.0)], True),
        ([(5 * THOU, 88.0), (5 * THOU, 452.0)], True),
        ([(5 * THOU, 99.0)], False),
        ([(7 * THOU, 90.0)], False),
        ([(5 * THOU, 90.0), (0.0, 0.0)], False),
        ([], False),
    ],
)
def test_dowels_are_set_the_same_as_well_as_anybody_sets_them(dowels, same):
    assert DowelSetting.of([(5 * THOU, 90.0)]).is_set_as(dowels) is same
    assert DowelSetting.of(dowels).is_set_as([(5 * THOU, 90.0)]) is same


def test_straight_dowels_are_set_however_they_are_turned():
    assert DowelSetting.of([]).is_set_as([(0.0, 170.0)])
