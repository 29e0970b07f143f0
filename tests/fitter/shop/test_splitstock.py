"""Sizes for engines that may get unlike dowels: simulated, and agreeing with what is exact where that is known."""

import math

import numpy as np
import pytest

from coaxly.fitter.dowels.measurement import Measurement
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.seating import Slips, seating
from coaxly.fitter.dowels.split import best_settings
from coaxly.fitter.shop.keeping import keep_of_pairs
from coaxly.fitter.shop.parallelstock import Population, Stock, Work
from coaxly.fitter.shop.splitstock import MixedStock, drawn
from coaxly.fitter.units import MM_PER_THOU as THOU

PINS = Pins((-5.5 * 25.4, -25.4), (5.5 * 25.4, -25.4))
FIVE = Population.scattered(5.0 * THOU)
SIZES = [5 * THOU, 10 * THOU]


def work(way, **more):
    return Work(5 * THOU, way=way, pins=PINS, clearance=THOU, size_sd=0.3 * THOU, **more)


@pytest.mark.parametrize("way", ["tight", "free"])
def test_unlike_dowels_are_never_worse_than_dowels_alike(way):
    sizes = [8 * THOU, 15 * THOU]
    mixed = [choice.inside for choice in MixedStock(FIVE, work(way), sizes).curve(2)]
    alike = [choice.inside for choice in Stock(FIVE, work(way), sizes).curve(2)]
    assert all(a > b - 0.02 for a, b in zip(mixed, alike, strict=True)) and mixed == sorted(mixed)
    if way == "free":  # two angles reach a disc where one reaches a ring
        assert mixed[0] > alike[0] + 0.05


@pytest.mark.parametrize("way", ["tight", "free"])
def test_single_engines_fare_as_the_planner_promises(way):
    """The planner's own chance of the best setting of each pair, for the same engines."""
    stock = MixedStock(FIVE, work(way), SIZES, engines=8)
    slips = Slips(0.3 * THOU, 5.0, THOU, way)
    promised = []
    for vector in drawn(FIVE, 8):
        best = 1.0 if math.hypot(*vector) <= 2.5 * THOU else 0.0
        for share in (0.2, 0.6):
            pairs = [(a, b) for a in SIZES for b in SIZES]
            for setting in best_settings(vector, pairs, PINS, (share * THOU,), 1.0, math.radians(5.0)):
                known = Measurement(vector, 1e-12 * np.eye(2), math.inf)
                chance = seating(known, 5 * THOU, setting, PINS, slips)
                best = max(best, chance.inside)
        promised.append(best)
    served = np.max([stock._none, *stock._served.values()], axis=0)
    assert served == pytest.approx(promised, abs=0.12) and served.mean() == pytest.approx(
        np.mean(promised), abs=0.04
    )


def test_one_size_carries_the_bore_where_geometry_says():
    """Two dowels of 6 thou, both up: the bore goes up by 6; set without error an engine 6 below is inside."""
    sure = work("tight", setting_sd=1e-6)
    engines = Population((0.0, -6.0 * THOU), ((1e-9, 0.0), (0.0, 1e-9)))
    assert MixedStock(engines, sure, [6 * THOU], 8).curve(1)[0].inside == 1.0
    beyond = Population((0.0, -10.0 * THOU), ((1e-9, 0.0), (0.0, 1e-9)))
    assert MixedStock(beyond, sure, [6 * THOU], 8).curve(1)[0].inside == 0.0
    with pytest.raises(ValueError, match="holes"):
        MixedStock(FIVE, Work(5 * THOU), SIZES)


def test_engines_are_drawn_as_the_population_says():
    engines = drawn(Population((3.0, -1.0), ((4.0, 1.0), (1.0, 2.0))), 1024)
    assert engines.mean(axis=0) == pytest.approx([3.0, -1.0], abs=0.02)
    assert np.cov(engines.T) == pytest.approx(np.array([[4.0, 1.0], [1.0, 2.0]]), rel=0.03, abs=0.03)
    wide = drawn(Population((0.0, 0.0), ((1.0, 0.0), (0.0, 1.0)), 8.0), 4096)
    assert np.var(wide) == pytest.approx(8.0 / 6.0, rel=0.05)


def test_dowels_kept_for_unlike_pairs_last_the_month_at_the_risk():
    pairs = [(5.0, 5.0, 0.3), (5.0, 10.0, 0.4), (10.0, 10.0, 0.1)]
    kept = {one.size: one for one in keep_of_pairs(pairs, engines=20.0, risk=0.05)}
    assert kept[5.0].monthly == pytest.approx(20 * (0.6 + 0.4)) and kept[10.0].monthly == pytest.approx(12.0)
    rng = np.random.default_rng(3)
    alike5, both, alike10 = (rng.poisson(20 * share, 50_000) for _, _, share in pairs)
    out = (2 * alike5 + both > kept[5.0].dowels) | (2 * alike10 + both > kept[10.0].dowels)
    assert 0.02 < out.mean() <= 0.05 + 0.003


def test_a_pair_that_no_engine_gets_is_in_no_list():
    """One of 6 and one of 40 thou bind, or carry the bore past every engine there is."""
    (choice,) = MixedStock(FIVE, work("free"), [6 * THOU, 40 * THOU], 200).curve(2)[1:]
    assert choice.sizes == (6 * THOU, 40 * THOU)
    assert all(share > 0.0 for _, _, share in choice.pairs) and len(choice.pairs) == 2
    assert (6 * THOU, 40 * THOU) not in {(a, b) for a, b, _ in choice.pairs}
