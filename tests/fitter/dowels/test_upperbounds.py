"""What split pairs can come to at most: never less than comes of them, and near enough to leave most of them out."""

import math

import numpy as np
import pytest
from bench.planner import PINS, THOU
from hypothesis import example, given
from hypothesis import strategies as st

from coaxly.fitter import Setup
from coaxly.fitter.dowels import plan as planning
from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.plan import Measured, Workshop, plan
from coaxly.fitter.dowels.split import best_of_kit
from coaxly.fitter.dowels.upperbounds import upper_bounds
from coaxly.fitter.geometry import polar
from coaxly.fitter.reading.stations import EnteredStations

LIMIT = 5 * THOU
HOLES = (PINS, Pins((0.0, 150.0), (0.0, -150.0)), Pins((-40.0, 150.0), (30.0, 220.0)))


def measured(off_thou, deg, sds_thou, freedom):
    vector = polar(off_thou * THOU, deg)
    stations = EnteredStations()
    for k in range(8):
        rad = math.radians(45 * k)
        value = -vector[0] * math.sin(rad) - vector[1] * math.cos(rad)
        stations.add(45.0 * k, np.array([value]), np.array([float(k)]))
    turn = np.array([polar(1.0, 30.0), polar(1.0, 120.0)])
    covariance = turn.T @ np.diag(np.square(sds_thou)) @ turn * THOU**2
    return Measured(Setup(), vector, covariance, freedom, stations.table(), LIMIT)


housings = st.builds(
    measured,
    st.floats(0.0, 18.0),
    st.floats(0.0, 359.0),
    st.tuples(st.floats(0.02, 4.0), st.floats(0.02, 4.0)),
    st.sampled_from((2.0, 3.7, 12.0, math.inf)),
)
shops = st.builds(
    Workshop,
    kit=st.lists(st.integers(1, 20), min_size=1, max_size=4, unique=True).map(
        lambda sizes: Kit.of([size * THOU for size in sizes])
    ),
    pins=st.sampled_from(HOLES),
    clearance=st.sampled_from((0.0, 0.5 * THOU, THOU)),
    pair=st.just("any"),
    setting_sd=st.sampled_from((0.0, 2.0, 5.0)),
    way=st.sampled_from(("tight", "free")),
)


@given(housings, shops)
def test_the_same_are_the_best_when_every_one_is_worked_out(housing, shop):
    shown = plan(housing, shop)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(planning, "upper_bounds", lambda known, limit, settings, *pair: np.ones(len(settings)))
        assert plan(housing, shop) == shown


def found_in(patch, housing, shop):
    """Settings that are looked at, and how often the whole chance was worked out."""
    seen, worked = [], []
    seated = planning._seated

    def bounds(known, limit, settings, pins, slips):
        seen.append(upper_bounds(known, limit, settings, pins, slips))
        worked.clear()
        return seen[-1]

    patch.setattr(planning, "upper_bounds", bounds)
    patch.setattr(planning, "_seated", lambda *asked: worked.append(seated(*asked)) or worked[-1])
    plan(housing, shop)
    return seen[-1], worked


@pytest.mark.parametrize("way", ["tight", "free"])
@pytest.mark.parametrize("sd", [0.2, 1.0])
def test_of_a_large_kit_few_are_worked_out(monkeypatch, way, sd):
    """Twenty sizes are four hundred pairs, each at two settings."""
    shop = Workshop(Kit.of([size * THOU for size in range(1, 21)]), PINS, pair="any", way=way)
    bounds, worked = found_in(monkeypatch, measured(9.0, 200.0, (sd, sd), 5.0), shop)
    assert len(bounds) > 700 and 3 <= len(worked) < 80


@given(housings, shops)
@example(
    measured(0.0, 0.0, (3.625, 0.03125), 12.0),
    Workshop(Kit.of([7 * THOU]), HOLES[1], clearance=0.5 * THOU, pair="any", setting_sd=2.0),
)
def test_no_chance_is_better_than_its_bound(housing, shop):
    allowed = shop.clearance, shop.turn_limit
    found = best_of_kit(housing.known.vector, shop.kit, shop.pins, allowed, math.radians(shop.setting_sd))
    if not found:
        return
    pair = shop.pins, shop.slips
    for setting, most in zip(found, upper_bounds(housing.known, LIMIT, found, *pair), strict=True):
        assert planning._seated(housing, shop, setting).inside <= most
