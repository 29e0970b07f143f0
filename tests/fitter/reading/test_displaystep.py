"""A step of the display that nobody stated is reckoned with as one that was, where the readings are sure of it."""

from dataclasses import asdict, replace

import numpy as np
import pytest
from bench.anysweep import Kind, World, entered
from chances import Tries, keeps, seldom
from closeness import differences

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.analysis import analyse
from coaxly.fitter.reading.displaystep import reckoned

THOU = 0.0254
QUIET = Kind("quiet", stations=(8,), places=("equal",), way=("twice",), noise=(0.01, 0.04), heavy=0.0, amount=(0.5, 4.0),
             form=(0.3,), drift=0.05, play=0.0)  # fmt: skip
"""Two turns of a dial that scatters far less than its display steps: what is off is the steps alone."""


class Coarse(World):
    """The same world through a display of half a thou."""

    step = property(lambda self: 0.5 * THOU, lambda self, drawn: None)


def of_world(seed):
    """Whether the bar of the amount holds the truth, and whether a fault is named that is none."""
    world = Coarse(QUIET, seed)
    (fitter,) = entered(world)
    found = analyse(replace(fitter.setup, resolution_mm=0.0), fitter.stations(), fitter.samples)
    off = found.eccentricity.amount - np.hypot(*world.centre)
    return abs(off) <= found.eccentricity.u95_amount, world.named(found)[0]


@pytest.mark.usefixtures("fit_alone")
def test_two_turns_through_a_coarse_display_accuse_nobody_and_hold_the_truth():
    sweeps = Tries(of_world)
    assert keeps(sweeps.column(0))
    assert seldom(sweeps.column(1))


def swept(step, *, noise=0.02 * THOU, dwell=1, encoder=False, **setup):
    """A bore 2 thou off, as a display of this step shows it."""
    rng = np.random.default_rng(3)
    fitter = Fitter(replace(Setup(), **setup))

    def shown(deg, n):
        true = 0.5 + 2.0 * THOU * np.cos(np.deg2rad(deg - 20.0)) + rng.normal(0.0, noise, n)
        return true if step == 0.0 else np.round(true / step) * step

    if encoder:
        deg = np.arange(1440) / 2.0
        fitter.add_track(deg, shown(deg, len(deg)), np.arange(1440) / 100.0)
        return fitter
    for k in range(16):
        fitter.add_station(45.0 * k % 360.0, shown(45.0 * k, dwell), 4.0 * k + np.arange(dwell) / 10.0)
    return fitter


def step_of(fitter):
    return reckoned(fitter.setup, fitter.stations())


@pytest.mark.parametrize("step", [0.5 * THOU, 0.01, 0.005])
@pytest.mark.parametrize(
    "how", [{}, {"dwell": 5, "noise": 0.15 * THOU}, {"encoder": True, "noise": 0.15 * THOU}, {"polarity": -1},
            {"tip_angle_deg": 20.0}],
    ids=["typed", "dwells that flicker", "encoder", "falling", "lever"],
)  # fmt: skip
def test_a_coarse_step_is_seen_however_it_was_read(step, how):
    assert step_of(swept(step, **how)) == pytest.approx(step)


@pytest.mark.parametrize("step", [0.0, 0.1 * THOU, 0.05 * THOU, 0.001])
@pytest.mark.parametrize("encoder", [False, True])
def test_a_fine_display_is_left_alone(step, encoder):
    assert step_of(swept(step, encoder=encoder)) == 0.0


@pytest.mark.parametrize(
    ("thou", "step"),
    [
        ([0, 0, 0, 0, 0, 0, 0, 0], 0.0),  # of a good bore every display shows that
        ([0, 0, 0.5, 0.5, 0.5, 0.5, 0, 0], 0.0),  # two numbers lie on a step by chance
        ([0, 0.5, 1, 1.5, 2, 1.5, 1, 0.5], 0.5),
        ([0, 1, 2, 3, 2, 1, 0, 1], 0.5),  # a display of half a thou shows that often enough
        ([0, 1, 3, 5, 8, 7, 4, 2], 1.0),
        ([0, 0.5, 1.1, 1.5, 2, 1.5, 1, 0.5], 0.0),
    ],
)
def test_what_lies_on_a_step_by_chance_is_not_sure_of_it(thou, step):
    fitter = Fitter(Setup())
    for k, value in enumerate(thou):
        fitter.add_station(45.0 * k, np.array([value * THOU]), np.array([float(k)]))
    assert step_of(fitter) == pytest.approx(step * THOU)


def test_readings_of_a_finer_step_are_seldom_taken_for_those_of_a_coarse_one():
    def taken(seed):
        rng = np.random.default_rng(seed)
        fitter = Fitter(Setup())
        for k in range(8):
            value = round(rng.normal(0.0, 3.0)) * 0.1 * THOU
            fitter.add_station(45.0 * k, np.array([value]), np.array([float(k)]))
        return (step_of(fitter) > 0.0,)

    assert seldom(Tries(taken).column(0))


def test_what_was_stated_counts_and_what_was_reckoned_tells_nothing():
    assert step_of(swept(0.5 * THOU, resolution_mm=0.001)) == 0.001
    assert step_of(swept(0.5 * THOU, calibration=((0.0, 0.0), (1.0, 0.0)))) == 0.0
    assert step_of(swept(0.5 * THOU, two_numbers=True)) == 0.0


@pytest.mark.parametrize("encoder", [False, True])
def test_it_is_as_if_it_had_been_stated_and_its_line_says_where_it_is_from(encoder):
    seen, said = (
        swept(0.5 * THOU, encoder=encoder, **setup).result() for setup in ({}, {"resolution_mm": 0.5 * THOU})
    )
    assert not differences(asdict(seen.eccentricity), asdict(said.eccentricity))
    lines, others = ({line.source: line.value for line in each.budget} for each in (seen, said))
    assert lines["resolution (as the readings show it)"] == pytest.approx(others["resolution"], rel=1e-9)
    assert others["resolution"] > 0.0
