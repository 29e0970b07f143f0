"""A sweep beside the one before it: how much alike is the same over again."""

import numpy as np
import pytest

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.clues.before import before_of, beside
from coaxly.fitter.units import MM_PER_THOU as THOU

DEG = np.arange(0.0, 360.0, 45.0)


def swept(feature, off, way=1.0, odd=0.0):
    """off: thou, towards 1 o'clock. odd: thou by which one reading is off."""
    fitter = Fitter(Setup(feature=feature))
    for k, deg in enumerate(DEG):
        value = off * np.cos(np.deg2rad(way * deg - 30.0)) + (odd if k == 3 else 0.0)
        fitter.add_station(float(deg), np.array([value * THOU]), np.array([4.0 * k]))
    return fitter.setup, fitter.stations()


@pytest.mark.parametrize(
    ("off", "odd", "told"),
    [
        (6.0, 0.0, True),
        (6.0, 1.8, True),
        (6.0, 2.6, False),
        (2.0, 0.3, True),
        (2.0, 0.9, False),
        (6.5, 0.0, False),
        (6.5, 0.6, False),
    ],
)
def test_the_same_readings_on_another_surface_are_the_same_within_what_they_swing(off, odd, told):
    """But half a thou that goes once round is another surface."""
    before = before_of("face-1.jsonl", *swept("face", round(off)))
    assert [each.kind for each in beside(*swept("bore", off, odd=odd), before)] == ["tip_unmoved"] * told


@pytest.mark.parametrize(("odd", "told"), [(0.0, True), (1.0, True), (3.0, False)])
def test_a_mirror_image_is_one_within_what_the_two_differ_by(odd, told):
    before = before_of("found-1.jsonl", *swept("bore", 6.0))
    said = beside(*swept("bore", 6.0, way=-1.0, odd=odd), before)
    assert [each.facts["why"] for each in said] == ["mirrored"] * told
