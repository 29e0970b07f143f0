"""Explanations one by one: what they rest on, and how often the true one is named."""

import numpy as np
import pytest
from bench.proof import MISTAKES, accused, outcomes
from proofs import FOUND, PINS, PLAN, SD, kit_of, sweep
from scipy import stats

from coaxly.fitter.dowels.bothways import Sweeps
from coaxly.fitter.dowels.causes import OFTEN, TURNED, found_mirrored
from coaxly.fitter.dowels.compare import compare
from coaxly.fitter.dowels.explain import Done, explain
from coaxly.fitter.dowels.measurement import unlike
from coaxly.fitter.dowels.pins import Pins, influence
from coaxly.fitter.dowels.setting import DowelSetting, contributions
from coaxly.fitter.dowels.settled import Home
from coaxly.fitter.geometry import polar
from coaxly.fitter.units import MM_PER_THOU as THOU


def causes(finding):
    return [each.cause for each in finding.among]


def told(shift, plan=PLAN, pins=None, kit=None, sd=SD):
    left = (FOUND[0] + shift[0], FOUND[1] + shift[1])
    return compare(Sweeps.of(sweep(FOUND, sd), sweep(left, sd)), plan, pins, kit)


def carried_by(*degrees, pins=PINS, size=6.0):
    """The shift of two dowels of so many thou at these angles, by the rigid body on its two pins."""
    return np.add(*contributions(DowelSetting((size * THOU, size * THOU), degrees), pins.influence()))


@pytest.mark.parametrize("which", [(250.0, 70.0), (70.0, 250.0)])
@pytest.mark.parametrize("pins", [PINS, Pins((-140.0, -90.0), (140.0, -90.0))])
def test_one_dowel_half_a_turn_out_is_named_with_where_both_belong(which, pins):
    """What is left of the shift is the turn of the housing, by how far the holes lie below the crank."""
    finding = told(carried_by(*which, pins=pins), pins=pins).finding
    assert "one half a turn out" in causes(finding) and set(causes(finding)) <= {
        "one half a turn out", "not seated",
    }  # fmt: skip
    assert {each.marks_deg for each in finding.among if each.cause != "not seated"} == {(70.0,)}


@pytest.mark.parametrize("which", [(-70.0, 70.0), (70.0, -70.0)])
def test_one_dowel_read_from_the_front_is_named(which):
    finding = told(carried_by(*which), pins=PINS, sd=0.1 * THOU).finding
    assert causes(finding) == ["one mirrored"] and finding.among[0].marks_deg == (70.0,)


def over(vector):
    return -vector[0], vector[1]


@pytest.mark.parametrize(
    ("cause", "found", "left"),
    [
        ("found swept the other way", over, tuple),
        ("left swept the other way", tuple, over),
        ("both swept the other way", over, over),
    ],
)
def test_a_mirrored_sweep_is_named_by_which_it_was(cause, found, left):
    shift = polar(6 * THOU, 70.0)
    true = polar(9 * THOU, 250.0)
    ended = (true[0] + shift[0], true[1] + shift[1])
    if cause == "left swept the other way":  # nothing is mirrored that ends on the crank's axis
        true, ended = (true[0], true[1] + 8 * THOU), (ended[0], ended[1] + 8 * THOU)
    finding = compare(Sweeps.of(sweep(found(true)), sweep(left(ended))), PLAN).finding
    alike = {"mirrored"} if cause == "both swept the other way" else set()
    assert set(causes(finding)) == {cause} | alike
    assert (
        found_mirrored(causes(finding)) == {"found": "yes", "left": "no", "both": "perhaps"}[cause.split()[0]]
    )


def test_every_mistake_has_how_often_it_happens_and_all_right_is_likelier_than_all_of_them():
    assert set(MISTAKES) | {"as planned", "dowels exchanged"} == set(OFTEN) and set(TURNED) < set(OFTEN)
    assert OFTEN["as planned"] > 0.4 * sum(OFTEN.values())


@pytest.mark.parametrize("ends", [0, 1, 40])
def test_ends_of_a_pair_that_may_settle_are_weighed_as_their_smeared_mean(ends):
    """Against scipy's normal densities, each end smeared by Scott's rule; of one end nothing is known to smear
    it by, and where there is none nothing stayed at its mark."""
    shift, dice = np.array(polar(6 * THOU, 70.0)), np.random.default_rng(1)
    cloud = shift + dice.normal(0, 0.4 * THOU, (40, 2))
    marked, settled = cloud[:ends], cloud + 0.3 * THOU
    left = np.array(FOUND) + shift
    sweeps = Sweeps.of(sweep(FOUND, SD, None), sweep(tuple(left), SD, None))
    done = Done(PLAN, influence(None), None, Home(marked, settled, 0.25))
    weighed = {each.cause: each.probability for each in explain(sweeps, done)}

    def mean(points):
        smear = np.cov(points.T) * len(points) ** (-1 / 3) if len(points) > 1 else np.zeros((2, 2))
        known = 2 * SD**2 * np.eye(2) + smear
        return (
            np.mean([stats.multivariate_normal(p, known).pdf(shift) for p in points]) if len(points) else 0.0
        )

    expected = 0.75 * mean(marked) / (0.25 * mean(settled))
    assert weighed["as planned"] / weighed["settled"] == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("size", "named"), [(5.8, ()), (6.0, (6.0,))])
def test_a_size_of_the_kit_is_taken_for_another_only_beyond_three_of_its_tolerances(size, named):
    """With a tolerance of 0.3 thou a dowel of 5 may well measure 5.8, and that one is then no other size."""
    plan = DowelSetting((5 * THOU, 5 * THOU), (70.0, 70.0))
    kit = kit_of(5, size, 12)
    (wrong,) = (
        each
        for each in told(polar(size * THOU, 70.0), plan, kit=kit, sd=0.02 * THOU).explanations
        if each.cause == "wrong size"
    )
    assert wrong.sizes_mm == pytest.approx(tuple(each * THOU for each in named))


def test_what_nobody_would_notice_is_no_mistake():
    spread = np.diag([4.0, 1.0])
    gaps = np.array([[0.0, 0.0], [2.0, 0.0], [0.0, 9.0]])
    assert unlike(gaps, np.array([spread] * 3)) == pytest.approx([0.0, 1 - np.exp(-0.5), 1.0])


@pytest.mark.usefixtures("fit_alone")
def test_of_random_jobs_the_mistake_is_named_or_among_those_that_cannot_be_told_apart():
    """A small part of tests/bench/proof.py, which has the figures."""
    found = outcomes(8, seed=2, right=40)
    told_apart = [each for each in found if each.truth != "as planned" and each.measurable]
    assert len(told_apart) > 55 and {each.truth for each in told_apart} == set(MISTAKES)
    assert sum(each.named for each in told_apart) / len(told_apart) > 0.9
    assert accused(found) <= 1 / 40
