"""Two dowels as they are set, and whether others would be set the same."""

import pytest

from coaxly.fitter.dowels.kit import OFFSET_SD_MM
from coaxly.fitter.dowels.setting import SETTING_SD_DEG, DowelSetting
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
    these, those = DowelSetting.of([(5 * THOU, 90.0)]), DowelSetting.of(dowels)
    assert these.is_like(those, OFFSET_SD_MM, SETTING_SD_DEG) is same
    assert those.is_like(these, OFFSET_SD_MM, SETTING_SD_DEG) is same


def test_straight_dowels_are_set_however_they_are_turned():
    assert DowelSetting.of([]).is_like(DowelSetting.of([(0.0, 170.0)]), OFFSET_SD_MM, SETTING_SD_DEG)
