"""The bar that is promised for the next reading is the one that comes, and what is advised tells most."""

import math
import warnings

import numpy as np
import pytest
from remarking import facts, kinds

from coaxly.fitter import Fitter, Setup, TooFewStations
from coaxly.fitter.analysis import analyse_together, outlook
from coaxly.fitter.geometry import InternalDeg
from coaxly.fitter.units import MM_PER_THOU as THOU

EIGHT = [45.0 * k for k in range(8)]
NOWHERE = np.array([])


def bore(deg, seed=1, noise=0.2, amount=2.5, oval=0.4):
    """Readings of a bore: off-centre towards 1:00, oval, and scattering; lengths in thou."""
    rad, dice = np.deg2rad(np.asarray(deg)), np.random.default_rng(seed)
    phase = dice.uniform(0.0, 2.0 * math.pi)
    form = oval * np.cos(2.0 * rad - phase) + 0.5 * oval * np.cos(3.0 * rad + phase)
    return (-amount * np.cos(rad - math.radians(30.0)) + form + dice.normal(0.0, noise, len(rad))) * THOU


def swept(deg, value=None, **setup):
    fitter = Fitter(Setup.from_header(setup))
    for k, (at, read) in enumerate(zip(deg, bore(deg) if value is None else value, strict=True)):
        fitter.add_station(at, np.array([read]), np.array([4.0 * k]))
    return fitter


def promised_and_come(deg, seed, **world):
    """The half-width that is promised for each station from the fourth on, and the one that comes with it."""
    value, setup, found = bore(deg, seed, **world), Setup(), []
    for n in range(4, len(deg)):
        now, then = (outlook(setup, swept(deg[:k], value[:k]).stations(), due) for k, due in (
            (n, np.array(deg[n : n + 1])), (n + 1, NOWHERE)))  # fmt: skip
        found.append((now.after[0], then.eccentricity.u95_amount))
    return found


@pytest.mark.parametrize("deg", [[*EIGHT, 0.0], [0.0, 70.0, 110.0, 170.0, 230.0, 260.0, 330.0]])
def test_the_bar_shrinks_as_was_promised(deg):
    """But for the first ones: of four stations hardly anything is known. With the eighth of eight even places the
    vector becomes that of least squares, whose bar is wider."""
    pairs = np.array([promised_and_come(deg, seed) for seed in range(6)])
    ratio = np.median(pairs[:, :, 1] / pairs[:, :, 0], axis=0)[1:]
    assert ratio.min() > 0.6 and ratio.max() < 1.5 and 0.85 < np.exp(np.log(ratio).mean()) < 1.15, ratio


@pytest.mark.parametrize(("way", "back"), [("turn", 1), ("turn_back", -1)])
def test_another_turn_tells_how_the_dial_scatters_and_that_is_promised(way, back):
    """Eight readings once more leave half of the bar, where scatter and form were not told apart before."""
    found = []
    for seed in range(8):
        value = bore([*EIGHT, *EIGHT[::back]], seed)
        ways = outlook(Setup(), swept(EIGHT, value[:8]).stations(), NOWHERE).further
        (promised,) = (one.u95_amount for one in ways if one.way == way)
        then = outlook(Setup(), swept([*EIGHT, *EIGHT[::back]], value).stations(), NOWHERE)
        found.append(then.eccentricity.u95_amount / promised)
    assert 0.85 < np.median(found) < 1.2, found


def test_no_station_makes_the_bar_wider_by_what_is_expected():
    places, found = np.arange(0.0, 360.0, 15.0), []
    for seed in range(6):
        now = outlook(Setup(), swept(EIGHT[:6], bore(EIGHT[:6], seed)).stations(), places)
        assert max(now.after) <= now.eccentricity.u95_amount
        found.append(now.after)
    after = dict(zip(places.tolist(), np.median(found, axis=0).tolist(), strict=True))
    # The first place once more tells of drift; one that was not read yet of no less than one that was.
    assert after[0.0] < 0.9 * after[135.0] and after[285.0] < 1.05 * after[135.0]


@pytest.mark.parametrize("stations", [3, 4, 8, 16])
def test_of_a_bore_that_reads_nothing_but_nought_what_would_tell_more_is_a_number(stations):
    deg = [360.0 / stations * k for k in range(stations)]
    fitter = swept(deg, np.zeros(stations), resolution_mm=0.05)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        now = outlook(fitter.setup, fitter.stations(), np.array([10.0, 200.0]))
        assert fitter.result().eccentricity.amount == 0.0
    assert all(0.0 < after <= now.eccentricity.u95_amount for after in now.after)


def test_of_an_arc_the_station_that_tells_most_is_read_next_and_mostly_lies_in_the_gap():
    arc, best = [0.0, 36.0, 72.0, 108.0, 144.0, 180.0], []
    for seed in range(6):
        fitter = swept(arc, bore(arc, seed))
        ways = {one.way: one for one in outlook(Setup(), fitter.stations(), NOWHERE).further}
        assert ways["station"].readings == 1
        assert facts(fitter.result(), "gap")["next_deg"] == ways["station"].deg
        best.append(ways["station"].deg)
    assert sum(195.0 < deg < 345.0 for deg in best) >= 4, best


def test_lobes_that_hide_are_told_by_a_turn_half_way_between():
    """Seven lobes under eight stations: the same places again would only average the scatter."""
    found = {one.way: one for one in outlook(Setup(), swept([*EIGHT, 0.0]).stations(), NOWHERE).further}
    assert found["turn_between"].deg == 22.5 and found["turn_between"].readings == 8
    assert found["turn_between"].u95_amount < found["turn"].u95_amount
    assert "closing" not in found  # there was one


def test_a_dial_that_drags_is_told_by_a_turn_the_other_way():
    further = outlook(Setup(hysteresis_mm=2 * THOU), swept(EIGHT).stations(), NOWHERE).further
    assert further[0].way == "turn_back" and further[0].deg == 315.0


def test_a_closing_reading_is_among_the_ways_until_there_is_one():
    ways = {one.way: one.deg for one in outlook(Setup(), swept(EIGHT[1:]).stations(), NOWHERE).further}
    assert ways["closing"] == 45.0 and set(ways) == {
        "turn", "turn_between", "turn_back", "closing", "station",
    }  # fmt: skip


def test_of_ways_that_are_about_as_good_the_one_of_fewest_readings_is_best():
    further = outlook(Setup(), swept(EIGHT).stations(), NOWHERE).further
    good = [one for one in further if one.u95_amount <= 1.1 * min(each.u95_amount for each in further)]
    assert further[0].readings == min(one.readings for one in good)
    others = [one.u95_amount for one in further if one not in good]
    assert others == sorted(others)


def test_what_a_shop_repeats_to_is_not_read_away_in_one_sweep():
    shop = Setup(repeatability_mm=1.5 * THOU)
    now = outlook(shop, swept(EIGHT).stations(), NOWHERE)
    assert min(one.u95_amount for one in now.further) == pytest.approx(now.eccentricity.u95_amount, rel=0.03)


def test_a_sweep_that_is_too_close_says_what_would_tell_most_and_no_other_does():
    close = swept([*EIGHT, 0.0], closing=True, limit_mm=5.1 * THOU).result()
    assert close.decision.state == "unsure"
    told = facts(close, "further")
    assert told["way"].startswith("turn") and told["readings"] == 8
    assert told["u95_mm"] < close.eccentricity.u95_amount
    assert {one["way"] for one in told["others"]} | {told["way"]} == {
        "turn", "turn_between", "turn_back", "station",
    }  # fmt: skip
    assert "further" not in kinds(swept([*EIGHT, 0.0], limit_mm=15 * THOU).result())


def test_two_sweeps_that_are_too_close_are_told_by_a_third_whatever_their_order():
    sweeps = [(Setup(limit_mm=5.1 * THOU), swept(EIGHT, bore(EIGHT, seed)).stations()) for seed in (1, 2)]
    one, other = (analyse_together(order, 16) for order in (sweeps, sweeps[::-1]))
    told = facts(one, "further")
    assert told == facts(other, "further") and told["way"].startswith("turn")
    assert {each["way"] for each in (told, *told["others"])} == {"turn", "turn_between", "turn_back"}


def test_a_sweep_that_does_not_stop_is_told_by_another_turn():
    fitter, deg = Fitter(Setup(limit_mm=5.05 * THOU)), np.arange(0.0, 361.0, 0.5)
    fitter.add_track(deg, bore(deg, noise=0.6), deg / 20.0)
    result = fitter.result()
    assert result.decision.state == "unsure"
    told = facts(result, "further")
    assert {each["way"] for each in (told, *told["others"])} == {"turn", "turn_back"}
    assert told["u95_mm"] < result.eccentricity.u95_amount


def test_a_fitter_looks_ahead_once_for_the_same_stations():
    fitter, due = swept(EIGHT[:5]), [InternalDeg(225.0), InternalDeg(270.0)]
    seen = fitter.outlook(due)
    assert fitter.outlook(tuple(due)) is seen and len(seen.after) == 2 and seen.further == ()
    assert fitter.outlook(due[1:]) is not seen
    fitter.undo()
    assert fitter.outlook(due).eccentricity.u95_amount > seen.eccentricity.u95_amount
    assert seen.eccentricity == swept(EIGHT[:5]).result().eccentricity


def test_there_is_nothing_to_look_at_before_there_is_a_vector_and_where_nobody_stops():
    assert swept([0.0, 10.0]).outlook(()) is None
    with pytest.raises(TooFewStations):
        outlook(Setup(), swept([0.0, 10.0]).stations(), NOWHERE)
    fitter, deg = Fitter(Setup()), np.arange(0.0, 361.0, 1.0)
    fitter.add_track(deg, bore(deg), deg / 20.0)
    assert fitter.outlook(()) is None
