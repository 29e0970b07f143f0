import pytest

from coaxly.fitter.dowels.limits import BY_SAE_SIZE


@pytest.mark.parametrize(
    ("size", "inch"), [("00", 0.012), ("0", 0.010), ("1/2", 0.010), ("1", 0.008), ("2", 0.008), ("3", 0.008)]
)
def test_limits_by_sae_size(size, inch):
    """TM 10-4320-307-24 p. 3-140; size 1 from an engine maker's N14 manual."""
    assert BY_SAE_SIZE[size].tir == pytest.approx(inch * 25.4)
    assert BY_SAE_SIZE[size].source
