"""No verdict from what was not measured: a tip off the bore, a dial on hold, a crank that was not turned."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from chances import Tries, seldom
from doubtful import (
    LOST,
    RADIUS,
    World,
    bore,
    clipped,
    frozen,
    held,
    inches,
    keeping,
    lost_in,
    passed,
    reset,
    resting,
    sound,
    swept,
    unturned,
)

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.analysis import _not_excluded, analyse_together
from coaxly.fitter.clues.before import before_of
from coaxly.fitter.result import FORBIDS, Remark
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.fitter.withheld import doubted, holding_back, withhold


def fitted(thou, setup=None):
    """A sweep of a turn with its closing reading, one reading a station."""
    fitter = Fitter(setup or Setup(closing=True))
    for k, value in enumerate(thou):
        fitter.add_station(360.0 * k / (len(thou) - 1), np.array([value * THOU]), np.array([4.0 * k]))
    return fitter


OFF = [2.7, 0.7, 0, 0, 0, 0, 2.1, 3.3, 2.7]
UNTURNED = [30, 30.05, 30, 30, 30.05, 30, 30.05, 30.05, 30]
HELD = [1, 3.1, 5.2, 6, 6, 6, 6, 6, 6]
RISING = [15.8, 15.8, 15.8, 15.8, 15.8, 18.8, 18.8, 19.5, 19.5]
SWITCHED = [0, 1.1, 2.7, 5.1 / 25.4, 6.3 / 25.4, 5.4 / 25.4, 3.0 / 25.4, 1.0 / 25.4, 0]


@pytest.mark.parametrize(
    ("thou", "kind"),
    [
        (OFF, "tip_off"),
        (UNTURNED, "not_turned"),
        ([30.0] * 9, "not_turned"),
        ([0.0] * 9, "not_turned"),
        (HELD, "held_dial"),
        (RISING, "held_dial"),
        (SWITCHED, "unit_changed"),
    ],
)
def test_what_was_not_measured_gets_no_verdict(thou, kind):
    result = fitted(thou).result()
    assert (result.decision.state, result.decision.withheld) == ("unsure", (kind,))
    assert next(each.kind for each in result.remarks if each.level == "warning") == kind


def test_the_same_bore_measured_all_round_gets_its_verdict():
    """What the clipped sweep would have read: six thou of run-out, and one of three."""
    deg = np.arange(9) * 45.0
    for half, state in ((3.0, "outside"), (1.2, "inside")):
        result = fitted(np.round(half * np.cos(np.deg2rad(deg - 310.0)) * 20.0) / 20.0 + 0.1).result()
        assert (result.decision.state, result.decision.withheld) == (state, ())


def test_what_is_outside_with_the_tip_off_stays_outside_but_in_doubt():
    """Of a bore of twenty thou a part is lost: it can only be more."""
    value = np.maximum(10.0 * np.cos(np.deg2rad(np.arange(9) * 45.0 - 20.0)), -4.0)
    result = fitted(value).result()
    assert (result.decision.state, result.decision.withheld) == ("outside", ())
    assert doubted(result) == ("tip_off",)


def test_somebody_who_made_sure_gets_the_verdict_and_keeps_the_remark():
    result = fitted(OFF, Setup(closing=True, sure=("tip_off",))).result()
    assert result.decision.state == "inside" and doubted(result) == ()
    (note,) = [each for each in result.remarks if each.kind == "tip_off"]
    assert note.level == "note" and note.facts["sure"] is True


def test_what_somebody_made_sure_of_lifts_nothing_else():
    """From the third station on a hold as well as a stop; and a dial that hardly moved, in one word."""
    sure = fitted(HELD, Setup(closing=True, sure=("held_dial",))).result()
    assert sure.decision.state != "inside" and "tip_off" in {each.kind for each in sure.remarks}
    good = [20, 20, 20.5, 20.2, 20, 20, 19.9, 20, 20]
    assert doubted(fitted(good).result()) == ("not_turned",)
    turned = fitted(good, Setup(closing=True, sure=("not_turned",))).result()
    assert turned.decision.state == "inside" and doubted(turned) == ()


@pytest.mark.parametrize("kind", FORBIDS)
def test_every_kind_forbids_what_it_says_and_once(kind):
    good = fitted(np.round(12.0 * np.cos(np.deg2rad(np.arange(9) * 45.0))) / 10.0).result()
    bad = fitted(np.round(120.0 * np.cos(np.deg2rad(np.arange(9) * 45.0))) / 10.0).result()
    for result in (good, bad):
        told = withhold(type(result)(**{**_shallow(result), "remarks": (Remark.warning(kind),) * 2}))
        lost = result.decision.state == "inside" or FORBIDS[kind] == "both"
        assert told.decision.withheld == ((kind,) if lost else ())
        assert told.decision.state == ("unsure" if lost else "outside")
        assert withhold(told) == told


def _shallow(result):
    return {name: getattr(result, name) for name in result.__slots__}


def test_the_doubts_of_each_sweep_are_those_of_all_together():
    good, off = fitted(np.round(12.0 * np.cos(np.deg2rad(np.arange(9) * 45.0))) / 10.0), fitted(OFF)
    for order in ((good, off), (off, good)):
        sweeps = [(fitter.setup, fitter.stations()) for fitter in order]
        result = analyse_together(sweeps, 18)
        assert result.decision.withheld == ("tip_off",) and result.decision.state == "unsure"
        (told,) = [each for each in result.remarks if each.kind == "tip_off"]
        assert (told.facts["recording"], told.facts["of"]) == (order.index(off) + 1, 2)


@pytest.mark.parametrize("at", [0, 1, 3, 5, 8])
@pytest.mark.parametrize(("zero", "factor"), [(20.0, 25.4), (20.0, 1.0 / 25.4), (300.0, 25.4)])
def test_one_slip_of_the_unit_is_told_of_its_station_alone_wherever_the_dial_is_zeroed(at, zero, factor):
    thou = np.round(zero + 3.0 * np.cos(np.deg2rad(np.arange(9) * 45.0 - 30.0)), 1)
    thou[at] *= factor
    result = fitted(thou).result()
    told = [each.facts for each in result.remarks if each.kind == "unit_changed"]
    for facts in told:
        assert (facts["stations"], facts["before_deg"]) == (1, at * 45.0 % 360.0)
        assert facts["smaller"] is (factor < 1.0)
    # Or it is one bad reading, as good an explanation, and left out.
    assert told or (at, factor) == (3, 25.4)
    assert at * 45.0 % 360.0 in [each.deg for each in result.checks.outliers]
    assert result.decision.state != "inside"


@pytest.mark.parametrize("zeroed", [True, False])
@pytest.mark.parametrize("off", [6.0, -6.0, 12.0, 20.0])
def test_one_wild_reading_is_no_other_unit(off, zeroed):
    deg = np.arange(9) * 45.0
    thou = np.round(11.0 + 1.9 * np.cos(np.deg2rad(deg - 60.0)) + 0.1 * np.cos(np.deg2rad(3.0 * deg)), 2)
    thou -= zeroed * thou[0]
    thou[6] += off
    result = fitted(thou).result()
    assert [each.deg for each in result.checks.outliers] == [270.0]
    assert not any(each.kind == "unit_changed" and each.level == "warning" for each in result.remarks)
    assert result.decision.state == "inside"


@pytest.mark.parametrize("factor", [10.0, 0.1])
def test_a_decimal_point_that_slipped_is_no_other_unit(factor):
    thou = np.array([0.0, 3.5, 5.0, 3.5, 0.0, -3.5, -5.0, -3.5, 0.0])
    thou[7 if factor > 1.0 else 2] *= factor
    result = fitted(thou).result()
    assert [each.facts["like"] for each in result.remarks if each.kind == "bad_station"] == ["point"]
    assert not any(each.kind == "unit_changed" for each in result.remarks) and not result.decision.withheld


def test_the_order_of_files_changes_no_fact():
    sweeps = [fitted(thou) for thou in (OFF, HELD, UNTURNED)]
    found = [
        analyse_together([(fitter.setup, fitter.stations()) for fitter in order], 27)
        for order in itertools.permutations(sweeps)
    ]
    plain = [replace(result, remarks=()) for result in found]
    assert all(each == plain[0] for each in plain)
    assert plain[0].decision.withheld == ("held_dial", "not_turned", "tip_off")


def test_a_dial_that_moved_on_the_way_was_turned():
    """A perfect bore on a coarse display reads the same everywhere; that the tip ran over it shows between."""
    for moved, kinds in ((0.0, ("dead_dial",)), (4 * 0.5 * THOU, ())):
        fitter = Fitter(Setup(closing=True, resolution_mm=0.5 * THOU))
        for k in range(9):
            fitter.add_station(45.0 * k, np.zeros(5), np.arange(5) / 10.0 + k, moved if k else float("nan"))
        assert fitter.result().decision.withheld == kinds


def test_gauge_steps_and_the_sag_of_an_arm_may_stand_still():
    assert fitted([0.0] * 9, Setup(feature="sag", closing=True)).result().decision.withheld == ()


@pytest.mark.parametrize("which", range(0, len(LOST), 3))
def test_no_hold_is_called_inside(which):
    assert lost_in(which).decision.state != "inside"


@pytest.mark.parametrize("which", [k for k in range(0, len(LOST), 2) if k % 3])
def test_nor_is_lost_travel(which):
    assert lost_in(which).decision.state != "inside"


@pytest.mark.parametrize("streamed", [True, False])
@pytest.mark.parametrize("steps", [0.0, 0.5, 1.0, 1.6, 2.0])
def test_a_crank_that_was_not_turned_is_told_however_the_dial_flickers(steps, streamed):
    for seed in range(4):
        world = World(display=0.05, flicker=seed % 2, streamed=streamed)
        result = swept(np.random.default_rng(seed), world, resting(steps))
        assert result.decision.state == "unsure", (seed, result.decision)


@pytest.mark.parametrize("station", range(1, 7))
def test_a_dial_whose_digits_stand_is_told_wherever_it_was_put_on_hold(station):
    for seed, streamed in enumerate((True, False)):
        world = World(off=3.5, display=0.1, flicker=1 + seed, streamed=streamed)
        held_so = frozen(station, 0.5 * seed)
        assert swept(np.random.default_rng(seed), world, display=held_so).decision.state != "inside"


def test_what_may_be_on_hold_is_not_surely_outside_either():
    """Two readings as before may be a hold: what is outside by them is not told for sure."""
    note = Remark.note("held_dial", chance=0.3, chance_both=0.3)
    outside = fitted(np.round(120.0 * np.cos(np.deg2rad(np.arange(9) * 45.0))) / 10.0).result()
    told = _not_excluded(outside, [note]).decision.probability
    assert outside.decision.probability < 0.01 and 0.05 < told <= 0.5


@pytest.mark.parametrize(
    ("inside", "told", "kind"),
    [(0.99, 0.74, "held_dial"), (0.001, 0.3, "held_dial"), (0.97, 0.5, "held_dial"), (0.9, 0.675, None)],
)
def test_a_doubt_that_alone_keeps_a_verdict_back_is_known(inside, told, kind):
    note = Remark.note("held_dial", chance=0.25 if told != 0.5 else 0.6, chance_both=0.3)
    result = fitted([1.0, 0.7, 0.0, -0.7, -1.0, -0.7, 0.0, 0.7, 1.0]).result()
    before = replace(result, decision=replace(result.decision, probability=inside), remarks=(note,))
    after = withhold(_not_excluded(before, [note]))
    assert after.decision.probability == pytest.approx(told, abs=0.01) and after.decision.state == "unsure"
    assert holding_back(after) == kind
    assert holding_back(replace(after, remarks=())) is None


@pytest.mark.parametrize("fault", [keeping, unturned, inches(3, 1.0 / 25.4)])
def test_nor_what_else_stands_still(fault):
    for seed in range(3):
        assert swept(np.random.default_rng(seed), World(off=4.0), fault).decision.state != "inside"


def test_healthy_bores_keep_their_verdict():
    worlds = [World(off=0.8, display=display) for display in (0.05, 0.1, 0.3937)]
    results = [swept(np.random.default_rng(k), world, sound) for k in range(5) for world in worlds]
    assert {doubted(result) for result in results} == {()}
    assert {result.decision.state for result in results} == {"inside"}


@pytest.mark.parametrize(
    ("fault", "angle"),
    [
        (sound, lambda deg: (deg - deg[0]) * 2400.0 / 360.0),
        (sound, lambda deg: np.round((deg - deg[0]) * 20000.0 / 360.0)),
        (sound, lambda deg: (deg - deg[0]) * 4.0),
        (sound, lambda deg: (deg - deg[0]) * 4096.0),
        (sound, lambda deg: (deg - deg[0]) * 2.0),
        (clipped(0.5), None),
        (held(4), None),
        (unturned, None),
    ],
)
def test_in_passing_no_wrong_angle_and_no_dial_that_stands_is_called_inside(fault, angle):
    for seed in range(3):
        result = passed(np.random.default_rng(seed), World(off=4.0), fault, angle)
        assert result.decision.state != "inside" and doubted(result)
    assert doubted(passed(np.random.default_rng(7), World(off=1.2))) == ()


@pytest.mark.parametrize("after", [120.0, 200.0, 270.0])
def test_in_passing_a_counter_that_is_reset_is_named_where_it_leaps(after):
    """To nought, from wherever the encoder began: now and then that is next to where it was."""
    named = 0
    for seed in range(6):
        start = np.random.default_rng(seed).uniform(0.0, 360.0) + after
        result = passed(np.random.default_rng(seed), World(off=4.0), sound, reset(after))
        if abs((start + 180.0) % 360.0 - 180.0) > 40.0:
            assert doubted(result) == ("wrong_angle",), seed
            named += 1
    assert named >= 3


def test_in_passing_an_angle_that_runs_half_as_fast_is_no_oval_bore():
    """Two turns of the crank that the encoder takes for one: all of it repeats twice."""
    world = World(off=4.0, turns=2)
    for seed in range(3):
        result = passed(np.random.default_rng(seed), world, sound, lambda deg: (deg - deg[0]) * 0.5)
        told = next(each for each in result.remarks if each.kind == "wrong_angle")
        assert result.decision.state == "unsure" and told.facts["factor"] == 2.0
    for seed in range(5):
        oval = passed(np.random.default_rng(seed), World(off=0.1, form=2.0, turns=2))
        assert doubted(oval) == ()


@pytest.mark.parametrize("times", [2.5, 4.0, 5.0])
def test_in_passing_an_angle_that_runs_too_slow_is_told_by_how_much(times):
    slow = passed(
        np.random.default_rng(1), World(off=4.0, turns=5), sound, lambda deg: (deg - deg[0]) / times
    )
    told = next(each for each in slow.remarks if each.kind == "wrong_angle")
    assert told.facts["factor"] == pytest.approx(times, rel=0.005)
    lobed = passed(np.random.default_rng(1), World(off=0.1, form=3.0, turns=5))
    assert doubted(lobed) == ()


@pytest.mark.parametrize("low", [True, False])
@pytest.mark.parametrize(("noise", "display"), [(0.06, 0.05), (0.2, 0.5), (0.3, 0.1)])
def test_in_passing_no_bore_reads_the_same_to_the_digit_over_half_a_turn(noise, display, low):
    for seed in range(5):
        world = World(off=3.0, form=2.0, noise=noise, display=display)
        result = passed(np.random.default_rng(seed), world, clipped(0.65, low=low))
        assert result.decision.state != "inside" and "tip_off" in doubted(result), seed


def test_what_may_be_a_tip_that_was_off_takes_its_chance_from_being_inside():
    """A stop whose last digit flickers, of a bore that runs out by six: as like a bore that is oval."""
    thou = [20.0, 18.6, 18.5, 18.6, 20.0, 22.1, 23.1, 22.1, 20.1]
    result, sure = fitted(thou).result(), fitted(thou, Setup(closing=True, sure=("tip_off",))).result()
    perhaps = next(remark for remark in result.remarks if remark.kind == "tip_off")
    assert perhaps.level == "note" and 0.05 < perhaps.facts["chance"] < 0.5
    assert result.decision.state == "unsure" and not result.decision.withheld
    chance = sure.decision.probability * (1.0 - perhaps.facts["chance"])
    assert result.decision.probability == pytest.approx(chance, abs=0.01)


def test_a_bore_that_only_lingers_at_its_lowest_is_inside():
    result = fitted([21.0, 21.8, 22.0, 21.4, 20.5, 20.0, 20.0, 20.2, 21.0]).result()
    assert result.decision.state == "inside" and all(each.kind != "tip_off" for each in result.remarks)


@pytest.mark.parametrize(
    ("thou", "state"),
    [
        ([-0.3, 0.1, 0.4, 0.2, 0.0, -0.1, 0.0, -0.2, -0.2], "inside"),
        ([0.2, 0.4, 0.0, -0.5, -0.4, 0.0, 0.3, 0.2, 0.2], "inside"),
        ([-2.9, 1.2, 4.3, 4.5, 3.2, -0.7, -4.6, -5.6, -2.9], "outside"),
    ],
)
def test_typed_readings_that_differ_are_those_of_no_stop(thou, state):
    result = fitted(thou).result()
    assert (result.decision.state, doubted(result)) == (state, ())
    told = [each.facts["within_mm"] for each in result.remarks if each.kind == "tip_off"]
    assert all(within < 0.01 * THOU for within in told)


def test_typed_sweeps_of_sound_bores_are_hardly_ever_doubted():
    """To a tenth of a thou: of sixty no more than one is kept from its verdict."""
    kept = 0
    for seed in range(60):
        rng = np.random.default_rng(seed)
        noise = float(np.exp(rng.uniform(np.log(0.03), np.log(0.3))))
        result = swept(rng, World(off=rng.uniform(0.1, 1.5), noise=noise, streamed=False))
        kept += bool(doubted(result)) or holding_back(result) is not None
    assert kept <= 1


@pytest.mark.parametrize("low", [True, False])
def test_typed_sweeps_that_lost_travel_are_not_inside(low):
    for seed in range(12):
        world = World(off=4.0, flicker=seed % 2, streamed=False)
        result = swept(np.random.default_rng(seed), world, clipped(0.25 + 0.03 * seed, low=low))
        assert result.decision.state != "inside", seed


def out_of_round(thou, step):
    """Readings of a bore 12 thou off whose oval is of so many thou, as a display shows them."""
    rad = np.deg2rad(45.0 * np.arange(9))
    value = 20 + 12 * np.cos(rad - 0.52) + thou * (np.cos(2 * rad + 1) + 0.4 * np.cos(3 * rad))
    return np.round(value / step) * step


def known_again(before, now):
    """What is doubted of readings, as they are and beside a sweep of the same bore."""
    earlier = before_of("found", Setup(), fitted(before).stations())
    beside = fitted(now)
    beside.earlier = earlier
    return doubted(fitted(now).result()), doubted(beside.result())


@pytest.mark.parametrize("at", [0.1, 0.13])
def test_out_of_round_in_its_old_places_shows_that_the_crank_was_turned(at):
    now = [20.1, 19.9, 19.9, 20.1, 20.0, 19.9, 19.9, 20.1, 20.1]
    assert known_again(out_of_round(at, 0.1), now) == (("not_turned",), ())


@pytest.mark.parametrize(
    "still",
    [
        [20, 19.7, 20.1, 20.1, 20.1, 19.9, 20.1, 19.8, 20.1],
        [19.8, 20, 20.2, 20, 20, 19.9, 20.1, 19.7, 20],
    ],
)
def test_out_of_round_that_is_missed_shows_that_it_was_not(still):
    assert known_again(out_of_round(0.45, 0.1), still) == ((), ("not_turned",))


@pytest.mark.parametrize("still", [UNTURNED, [30.0] * 9, [20, 20, 20, 20, 20.5, 20, 20, 20, 20]])
def test_a_round_bore_shows_nothing(still):
    """Readings all alike are no likelier for a bore that was never out of round."""
    assert known_again(out_of_round(0.0, 0.5), still)[1]


@pytest.mark.parametrize("turns", [2, 3])
def test_in_passing_a_knock_is_no_fault_of_the_angle(turns):
    """What was read before it and after it differs at each place."""

    def knocked(rng, world, value, at):
        return np.where(at < 7, value, value + 8.0)

    result = passed(np.random.default_rng(3), World(off=4.0, turns=turns), knocked)
    assert doubted(result) == () and result.checks.step is not None
    assert result.checks.step.size == pytest.approx(8.0 * THOU, rel=0.1)


@pytest.mark.parametrize("turns", [1, 2, 3])
def test_in_passing_a_burr_is_no_fault_of_the_angle_however_often_it_was_passed(turns):
    def burred(rng, world, value, at):
        turn = np.arange(len(value)) / len(value) * (360.0 * world.turns + 10.0) % 360.0
        return value + np.where(np.abs(turn - 100.0) < 2.5, 12.0, 0.0)

    for seed in range(4):
        result = passed(np.random.default_rng(seed), World(off=4.0, turns=turns), burred)
        assert doubted(result) == () and result.checks.outliers, seed


def knocked(seed):
    """A good bore, out of round as usual, through a display of a tenth; on the way the zero moves."""
    rng = np.random.default_rng(seed)
    deg, zero = np.arange(9) * 45.0, np.zeros(9)
    zero[int(rng.integers(1, 8)) :] = rng.choice([-1, 1]) * rng.uniform(4.0, 15.0)
    value = RADIUS - bore(rng, rng.uniform(0.0, 1.0), 0.5)(deg) + zero + rng.normal(0.0, 0.1, 9)
    return np.round(value * 10.0) / 10.0


def test_a_knock_in_a_good_bore_is_no_dial_on_hold():
    """On either side of the step the readings are nearly equal; that is what a good bore reads."""
    doubts = Tries(lambda seed: [doubted(fitted(knocked(seed)).result())])
    assert seldom(map(bool, doubts.column(0)), poor=0.15)
    assert doubted(fitted([0.2, 2.0, 4.1, 5.5, *[6.1] * 5]).result()) == ("held_dial",)
