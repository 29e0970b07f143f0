"""Runs of equal readings in a sweep that does not stop: a stop is told, and a coarse display is none."""

import numpy as np
import pytest
from doubtful import World, clipped, passed, sound

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.clues.passed import never_moved, stands
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.fitter.withheld import doubted


def swept(thou):
    fitter, n = Fitter(Setup()), len(thou)
    fitter.add_track(np.linspace(0.0, 360.0, n, endpoint=False), np.array(thou) * THOU, np.arange(n) / 50.0)
    return fitter.stations()


def circle(amount, step=0.1):
    return np.round(amount * np.cos(np.linspace(0.0, 2.0 * np.pi, 1440, endpoint=False)) / step) * step


@pytest.mark.parametrize(("lost", "lowest"), [(1.0, True), (-1.0, False)])
def test_sectors_at_the_end_of_the_travel_may_be_readings_of_a_stop(lost, lowest):
    there = circle(4.0)
    there = np.maximum(there, -2.0) if lost > 0.0 else np.minimum(there, 2.0)
    bound, told = max(stands(Setup(), swept(there)), key=lambda each: len(each[0].rows) * abs(each[0].sign))
    assert bound.sign == lost and told.kind == "tip_off" and told.facts["lowest"] is lowest
    assert told.facts["reads_mm"] == pytest.approx(-2.0 * lost * THOU) and told.facts["places"] >= 22


def test_a_run_anywhere_may_be_that_of_a_dial_on_hold():
    there = circle(4.0)
    there[300:700] = there[300]
    (run,) = (bound.rows for bound, told in stands(Setup(), swept(there)) if told.kind == "held_dial")
    assert set(range(16, 34)) <= set(run.tolist()) <= set(range(14, 36))


def test_a_dial_that_never_moved_is_dead():
    (told,) = never_moved(Setup(), swept(np.full(1440, 3.0)))
    assert told.kind == "dead_dial" and never_moved(Setup(), swept(circle(1.0))) == []


def test_a_coarse_display_is_no_stop():
    """A bore that turns within a few steps of a display that no noise moves."""
    results = [
        passed(np.random.default_rng(seed), World(off=0.3 + 0.1 * seed, noise=0.08, display=0.5), sound)
        for seed in range(12)
    ]
    assert [doubted(each) for each in results].count(()) >= 11


def test_the_bar_holds_what_a_stop_cut_off_in_passing():
    held = 0
    for seed in range(20):
        rng = np.random.default_rng(seed)
        world = World(off=rng.uniform(2.6, 4.0), noise=0.1, display=(0.05, 0.5)[seed % 2])
        result = passed(rng, world, clipped(rng.uniform(0.2, 0.4), low=seed % 4 < 2))
        assert result.decision.state != "inside", seed
        held += abs(result.eccentricity.amount - world.off * THOU) <= result.eccentricity.u95_amount
    assert held >= 15


@pytest.mark.parametrize("readings", [130, 180])
def test_few_readings_in_a_sector_of_a_coarse_display_are_no_jump(readings):
    """Two of them a step apart scatter by more than the bore goes on; a crank turned fast leaves no more."""
    results = [
        passed(
            np.random.default_rng(seed),
            World(off=0.5 + 0.4 * seed, noise=0.05, display=0.5),
            readings=readings,
        )
        for seed in range(8)
    ]
    assert [doubted(each) for each in results].count(()) >= 7
