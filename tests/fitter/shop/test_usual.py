"""A shop whose dial is quiet and whose housings are round learns that; and what it learnt holds."""

import math
from dataclasses import replace

import numpy as np
import pytest
from bench.anysweep import Kind, World

from coaxly.fitter import Setup
from coaxly.fitter.analysis import analyse, analyse_together
from coaxly.fitter.mixture.priors import USUAL
from coaxly.fitter.reading.shopstudy import ShopStudy
from coaxly.fitter.reading.stations import EnteredStations
from coaxly.fitter.shop.usual import Swept, in_shop
from coaxly.fitter.units import MM_PER_THOU as THOU

CLOSED = {"places": ("equal",), "way": ("closing",), "heavy": 0.0, "amount": (1.5, 3.5)}
QUIET = Kind("quiet", stations=(6,), noise=(0.08, 0.08), form=(0.4,), **CLOSED)
ROUGH = Kind("rough", stations=(6,), noise=(0.8, 0.8), form=(2.0,), **CLOSED)


def table(kind, seed):
    world, stations = World(kind, seed), EnteredStations()
    for k, (deg, value) in enumerate(zip(world.deg[0], world.values[0], strict=True)):
        stations.add(float(deg), np.array([value]), np.array([4.0 * k]))
    return world, Setup(closing=True, resolution_mm=world.step), stations.table()


def shop(kind, sweeps=10, pieces=10):
    found = []
    for k in range(sweeps):
        _, setup, stations = table(kind, 1000 + k)
        found.append(Swept(setup, stations, f"h{k}", f"h{k % pieces}", "R2"))
    return in_shop(found)


def with_shop(setup, learnt):
    form = learnt.form["R2"]
    return replace(setup, study=ShopStudy(10, learnt.noise, form.oval, form.lobes))


def typical(sizes):
    """The mean logarithm of a size, thou."""
    size, share = np.array(sizes).T
    return math.exp(np.log(size) @ share / share.sum())


@pytest.fixture(scope="module")
def quiet():
    return shop(QUIET)


def test_scatter_and_form_are_learnt_in_their_order(quiet):
    rough = shop(ROUGH)
    assert quiet.sweeps == rough.sweeps == 10 and quiet.form["R2"].pieces == 10
    usual = typical(USUAL.noise) * THOU
    assert typical(quiet.noise) < 0.9 * usual < usual < typical(rough.noise)
    assert typical(quiet.form["R2"].oval) < typical(rough.form["R2"].oval)
    assert typical(quiet.form["R2"].lobes) < typical(USUAL.rest) * THOU < typical(rough.form["R2"].lobes)


def test_a_quiet_shop_has_narrower_bars_that_hold(quiet):
    before, after, held = [], [], []
    for seed in range(40):
        world, setup, stations = table(QUIET, seed)
        own = analyse(with_shop(setup, quiet), stations, 7).eccentricity
        before.append(analyse(setup, stations, 7).eccentricity.u95_amount)
        after.append(own.u95_amount)
        held.append(abs(own.amount - math.hypot(*world.centre)) <= own.u95_amount)
    assert np.median(after) < 0.95 * np.median(before)
    assert np.mean(held) >= 0.92


def test_the_budget_says_whose_study_it_is(quiet):
    _, setup, stations = table(QUIET, 1)
    lines = [line.source for line in analyse(with_shop(setup, quiet), stations, 7).budget]
    whose = "(this shop's study of 10 sweeps)"
    assert f"scatter about the model {whose}" in lines
    assert f"form that hides between these stations {whose}" in lines
    assert not any("study" in line.source for line in analyse(setup, stations, 7).budget)


def test_it_counts_for_several_sweeps_where_all_say_the_same(quiet):
    (_, setup, first), (_, _, second) = (table(QUIET, seed) for seed in (1, 2))
    own = with_shop(setup, quiet)
    both = analyse_together([(own, first), (own, second)], 14)
    mixed = [analyse_together([(own, first), (setup, second)], 14),
             analyse_together([(setup, second), (own, first)], 14)]  # fmt: skip
    plain = analyse_together([(setup, first), (setup, second)], 14)
    assert both.eccentricity.u95_amount != pytest.approx(plain.eccentricity.u95_amount, rel=1e-3)
    assert mixed[0].eccentricity == mixed[1].eccentricity == plain.eccentricity


def test_what_a_shop_had_learnt_before_does_not_count_again():
    _, setup, stations = table(QUIET, 3)
    learnt = shop(QUIET, sweeps=4)
    again = in_shop([Swept(with_shop(setup, learnt), stations, "h", "h", "R2")])
    fresh = in_shop([Swept(setup, stations, "h", "h", "R2")])
    assert again == fresh


def test_a_sweep_that_tells_nothing_is_left_out_and_a_family_that_nobody_said_is_none():
    _, setup, stations = table(QUIET, 4)
    found = in_shop([
        Swept(setup, stations.take(slice(0, 2)), "few", "few", "R2"),
        Swept(setup, replace(stations, continuous=True), "passed", "passed", "R2"),
        Swept(setup, stations, "alone", "alone"),
    ])  # fmt: skip
    assert found.sweeps == 1 and found.form == {}
    assert in_shop([]).noise == ()
