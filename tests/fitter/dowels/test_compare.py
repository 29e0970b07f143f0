from dataclasses import replace

import numpy as np
import pytest
from bench.planner import brought_home
from proofs import FOUND, PINS, PLAN, SD, kit_of, sweep

from coaxly.fitter.dowels.bothways import Sweeps
from coaxly.fitter.dowels.compare import compare
from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.dowels.seating import Slips
from coaxly.fitter.dowels.setting import DowelSetting, contributions
from coaxly.fitter.geometry import polar
from coaxly.fitter.units import MM_PER_THOU as THOU


def outcome(shift, sd=SD):
    left = (FOUND[0] + shift[0], FOUND[1] + shift[1])
    return compare(Sweeps.of(sweep(FOUND, sd), sweep(left, sd)), PLAN)


@pytest.mark.parametrize(
    ("shift", "cause"),
    [
        (polar(6 * THOU, 72.0), "as planned"),
        (polar(6 * THOU, 250.0), "180 degrees out"),
        (polar(3 * THOU, 70.0), "one dowel only or wrong size"),
        (polar(6 * THOU, 160.0), "not turned to the mark"),
        (polar(10 * THOU, 70.0), "wrong size"),
    ],
)
def test_each_mistake_is_named(shift, cause):
    comparison = outcome(shift)
    assert comparison.finding.cause == cause
    assert comparison.difference.within == (cause == "as planned")
    assert sum(e.probability for e in comparison.explanations) == pytest.approx(1.0)


def causes(finding):
    return [each.cause for each in finding.among]


@pytest.mark.parametrize(
    ("shift", "alike"),
    [
        (polar(6 * THOU, -70.0), {"mirrored", "both swept the other way"}),
        ((0.0, 0.0), {"not seated", "one half a turn out"}),
    ],
)
def test_mistakes_that_shift_the_bore_alike_are_named_together(shift, alike):
    finding = outcome(shift).finding
    assert set(causes(finding)) == alike and finding.probability > 0.9
    assert [each.marks_deg for each in finding.among if each.marks_deg] == [(70.0,)]


def test_what_cannot_be_told_is_said():
    comparison = outcome(polar(4.4 * THOU, 70.0), sd=4.0 * THOU)
    assert comparison.finding.cause == "cannot be told"
    assert "as planned" in causes(comparison.finding) and len(causes(comparison.finding)) > 1


def test_without_a_plan_only_the_shift_is_told():
    left = (FOUND[0], FOUND[1] + 5 * THOU)
    comparison = compare(Sweeps.of(sweep(FOUND), sweep(left)), None)
    assert comparison.planned is None and comparison.measured.amount == pytest.approx(5 * THOU)
    assert comparison.measured.clock == "12:00"


def after(shift, kit=None, plan=PLAN, found=FOUND, sd=SD):
    left = (found[0] + shift[0], found[1] + shift[1])
    return compare(Sweeps.of(sweep(found, sd), sweep(left, sd)), plan, kit=kit)


def test_half_of_the_shift_is_one_dowel_or_the_half_size_if_the_kit_holds_one():
    both = after(polar(3 * THOU, 70.0), kit_of(3, 6, 9)).finding
    assert both.cause == "one dowel only or wrong size"
    (size,) = (each.sizes_mm for each in both.among if each.cause == "wrong size")
    assert size == pytest.approx([3 * THOU])
    one = after(polar(3 * THOU, 70.0), kit_of(6, 10)).finding
    assert one.cause == "one dowel only"


def test_a_size_of_the_kit_is_named():
    found = after(polar(9 * THOU, 71.0), kit_of(3, 6, 9)).finding
    assert found.cause == "wrong size" and found.among[0].sizes_mm == pytest.approx([9 * THOU])


def test_a_loose_kit_makes_a_larger_difference_as_planned():
    off = polar(7.2 * THOU, 70.0)
    assert after(off, kit_of(6, tolerance=1.0)).difference.within
    assert not after(off, kit_of(6, tolerance=0.1)).difference.within


@pytest.mark.parametrize("deg", [90.0, 270.0])
def test_at_three_and_nine_a_mirrored_pair_is_half_a_turn_out_or_the_sweeps_are_mirrored(deg):
    plan = DowelSetting((6 * THOU, 6 * THOU), (deg, deg))
    finding = after(polar(6 * THOU, -deg), plan=plan, found=polar(7 * THOU, deg + 180.0)).finding
    assert set(causes(finding)) == {"180 degrees out", "mirrored", "both swept the other way"}
    assert {each.marks_deg for each in finding.among if each.cause != "both swept the other way"} == {(deg,)}


@pytest.mark.parametrize("deg", [1.0, 178.0, 359.0])
def test_near_twelve_and_six_reading_from_the_front_does_no_harm_and_is_not_accused(deg):
    plan = DowelSetting((6 * THOU, 6 * THOU), (deg, deg))
    comparison = after(polar(6 * THOU, -deg), plan=plan, found=polar(7 * THOU, deg + 180.0))
    assert comparison.finding.cause == "as planned" and comparison.difference.within


def test_unlike_dowels_in_each_others_holes_are_named():
    pins = Pins((-140.0, -25.0), (140.0, -25.0))
    plan = DowelSetting((4 * THOU, 9 * THOU), (30.0, 80.0))
    done = DowelSetting((9 * THOU, 4 * THOU), (30.0, 80.0))
    shift = np.add(*contributions(done, pins.influence()))
    left = (FOUND[0] + shift[0], FOUND[1] + shift[1])
    named = compare(Sweeps.of(sweep(FOUND, 0.05 * THOU), sweep(left, 0.05 * THOU)), plan, pins, kit_of(4, 9))
    assert named.explanations[0].cause == "dowels exchanged"


FREE = Slips(0.3 * THOU, 5.0, THOU, "free")


@pytest.mark.parametrize(
    ("offsets", "degrees", "turns"),
    [
        ((15, 15), (20, 45), (1, 1)),
        ((15, 15), (20, 45), (1, 0)),
        ((15, 10), (100, 60), (1, 1)),
    ],
)
def test_a_pair_that_settled_on_going_home_is_no_mistake(offsets, degrees, turns):
    """A rigid housing on round pins, turned until it goes on; the bench's judge, not the code's own."""
    plan, dice = DowelSetting(tuple(d * THOU for d in offsets), degrees), np.random.default_rng(4)
    named, accused, n = 0, 0, 0
    for _ in range(25):
        made = np.array(plan.offsets) + dice.normal(0, 0.3 * THOU, 2)
        bind, _, end = brought_home(
            (0.0, 0.0), made, np.deg2rad(np.array(degrees) + dice.normal(0, 5, 2)), np.array(turns)
        )
        if abs(bind) > THOU + 1e-6:
            continue
        left = np.array(FOUND) + end + dice.normal(0, 0.25 * THOU, 2)
        sweeps = Sweeps.of(sweep(FOUND, 0.18 * THOU), sweep(left, 0.18 * THOU))
        told = compare(sweeps, plan, PINS, kit_of(5, 10, 15), FREE)
        n += 1
        named += "settled" in causes(told.finding)
        accused += not set(causes(told.finding)) <= {"settled", "as planned"}
    assert n > 15 and named / n > 0.9 and accused / n < 0.1


def test_only_a_pair_that_may_turn_can_have_settled():
    plan = DowelSetting((15 * THOU, 15 * THOU), (20.0, 45.0))
    shift = np.add(*contributions(plan, PINS.influence()))
    left = (FOUND[0] + shift[0], FOUND[1] + shift[1])
    for pins, slips in ((None, FREE), (PINS, None), (PINS, replace(FREE, way="tight"))):
        comparison = compare(Sweeps.of(sweep(FOUND), sweep(left)), plan, pins, kit_of(15), slips)
        assert "settled" not in [each.cause for each in comparison.explanations]


def test_a_pair_that_may_settle_is_still_told_to_be_half_a_turn_out():
    plan = DowelSetting((10 * THOU, 10 * THOU), (60.0, 60.0))
    left = np.array(FOUND) + polar(10 * THOU, 240.0)
    told = compare(Sweeps.of(sweep(FOUND), sweep(left)), plan, PINS, kit_of(5, 10), FREE)
    assert told.finding.cause == "180 degrees out"


def test_the_shares_of_right_names():
    """200 of each, planned with a kit of 5, 10 and 15 thou, set by hand, swept with a usual dial."""
    kit, dice = kit_of(5, 10, 15), np.random.default_rng(3)

    def share(done, *named):
        right = accused = 0
        for _ in range(200):
            deg = float(dice.uniform(0, 360))
            plan = DowelSetting((10 * THOU, 10 * THOU), (deg, deg))
            parts = []
            for offset, turn in done:
                size = 10 * THOU * offset + (0.3 * THOU * dice.normal() if offset else 0.0)
                parts.append(polar(size, deg + turn + 5.0 * dice.normal()))
            shift = np.mean(parts, axis=0) + 0.25 * THOU * dice.normal(size=2)
            finding = after(shift, kit, plan, polar(11 * THOU, deg + 180.0), sd=0.18 * THOU).finding
            right += any(name in causes(finding) for name in named)
            accused += "as planned" not in causes(finding)
        return right / 200, accused / 200

    good, accused = share([(1, 0), (1, 0)], "as planned")
    assert good > 0.97 and accused < 0.01
    assert share([(1, 180), (1, 180)], "180 degrees out")[0] > 0.93
    assert share([(1, 0), (0, 0)], "one dowel only")[0] > 0.92
    assert share([(0.5, 0), (0.5, 0)], "wrong size")[0] > 0.92
    assert share([(0, 0), (0, 0)], "not seated")[0] > 0.98
    assert share([(1, 65), (1, 65)], "not turned to the mark")[0] > 0.7
