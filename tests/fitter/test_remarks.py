"""Remarks come when their rule says so, and not before."""

import dataclasses
import math

import numpy as np
import pytest

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.certainty.unseen import Unseen
from coaxly.fitter.remarks import remarked
from coaxly.fitter.result import Checks, Form, Outlier, Tir
from coaxly.fitter.units import MM_PER_THOU as THOU

LIMIT = 0.127
NOTHING_HIDES = Unseen((), drift=False, closed=True, lag=False, on_deg=None, gap_mm=0.0, parts=())


@pytest.fixture(scope="module")
def sound():
    """A sweep about which there is nothing to say."""
    fitter = Fitter(Setup.from_header({"limit_mm": LIMIT}))
    dice = np.random.default_rng(2)
    for k in range(12):
        value = 0.1 * math.cos(math.radians(30 * k)) + dice.normal(0, 0.0005)
        fitter.add_station(30.0 * k, np.array([value]), np.array([float(k)]))
    result = fitter.result()
    assert said(result) == []
    return result


def said(result, hidden=NOTHING_HIDES, zero=0.0, **changes):
    """Kinds that are remarked of the same sweep with other findings."""
    return [remark.kind for remark in remarks(result, hidden, zero, **changes)]


def remarks(result, hidden=NOTHING_HIDES, zero=0.0, **changes):
    changed = dataclasses.replace(result, remarks=(), **changes)
    return remarked(changed, Setup.from_header({"zero_sd_deg": zero}), 90.0, hidden).remarks


def checks(result, **changes) -> Checks:
    return dataclasses.replace(result.checks, **changes)


def test_a_third_of_the_circle_without_a_station_is_said(sound):
    assert said(sound, coverage_deg=119.0) == []
    (gap,) = remarks(sound, coverage_deg=121.0)
    assert gap.kind == "gap" and gap.facts == {"gap_deg": 121.0, "next_deg": 90.0}


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_fifth_of_the_limit_is_too_much_at_the_closing_reading(sound, way):
    assert said(sound, checks=checks(sound, closure=way * 0.19 * LIMIT)) == []
    assert said(sound, checks=checks(sound, closure=way * 0.21 * LIMIT)) == ["closure"]


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_fifth_of_the_limit_is_too_much_between_the_two_senses(sound, way):
    assert said(sound, checks=checks(sound, hysteresis=way * 0.19 * LIMIT)) == []
    assert said(sound, checks=checks(sound, hysteresis=way * 0.21 * LIMIT)) == ["hysteresis"]


def test_what_moving_cannot_cure_is_said_only_where_it_decides(sound):
    def tir(swept, fitted) -> Tir:
        return dataclasses.replace(sound.tir, swept=swept * LIMIT, fitted=fitted * LIMIT)

    assert "rest" in said(sound, tir=tir(1.01, 0.99))
    assert "rest" not in said(sound, tir=tir(1.5, 1.01))
    assert "rest" not in said(sound, tir=tir(0.99, 0.5))


def test_out_of_round_is_said_where_it_outweighs_the_offset_and_half_the_limit(sound):
    def with_form(form, fitted) -> list[str]:
        tir = dataclasses.replace(sound.tir, swept=0.0, fitted=fitted * LIMIT)
        return said(sound, tir=tir, form=Form(form * LIMIT, None, None))

    assert "form" in with_form(0.6, 0.5)
    assert "form" not in with_form(0.45, 0.1)
    assert "form" not in with_form(0.9, 1.0)


def test_a_bad_station_is_named_by_where_it_is_and_by_how_much(sound):
    bad = Outlier(90.0, "3:00", -0.1, 0.0, "low", probability=0.97)
    (remark,) = remarks(sound, checks=checks(sound, outliers=(bad,)))
    assert remark.kind == "bad_station" and remark.level == "warning"
    assert remark.facts == {"deg": 90.0, "residual_mm": -0.1, "like": "low", "probability": 0.97}


def test_too_few_stations_to_judge_by_is_said(sound):
    one = dataclasses.replace(sound.model, harmonics=1)
    assert said(sound, stations=5, model=one) == []
    assert said(sound, stations=4, model=one) == ["few_stations"]


def test_what_no_such_sweep_shows_is_a_note_and_comes_last(sound):
    blind = dataclasses.replace(NOTHING_HIDES, lobes=(7,), drift=True, lag=True)
    unsure = dataclasses.replace(sound.decision, state="unsure")
    found = remarks(sound, blind, 1.0, coverage_deg=121.0, decision=unsure)
    assert [(remark.kind, remark.level) for remark in found] == [
        ("gap", "warning"),
        ("unseen", "note"),
        ("zero", "note"),
    ]


def test_a_drag_that_was_seen_is_a_warning(sound):
    (remark,) = remarks(sound, dataclasses.replace(NOTHING_HIDES, gap_mm=0.02))
    assert (remark.kind, remark.level, remark.facts) == ("drag", "warning", {"apart_mm": 0.02})


@pytest.mark.parametrize(
    ("state", "level"), [("inside", "note"), ("unsure", "warning"), ("outside", "warning")]
)
def test_a_housing_that_is_inside_is_not_accused_of_showing_no_offset(sound, state, level):
    nothing = dataclasses.replace(sound.eccentricity, detected=False)
    decision = dataclasses.replace(sound.decision, state=state)
    remark, *_ = remarks(sound, eccentricity=nothing, decision=decision)
    assert (remark.kind, remark.level) == ("not_detected", level)
    assert remark.facts["detectable_mm"] == nothing.detectable


def test_where_12_o_clock_is_does_not_matter_of_a_housing_that_is_inside(sound):
    decided = dataclasses.replace(sound.decision, state="inside")
    assert "zero" in said(sound, zero=1.0)
    assert "zero" not in said(sound, zero=1.0, decision=decided)


@pytest.mark.parametrize(("off_thou", "told"), [(1.9, True), (1.2, False), (3.1, False)])
@pytest.mark.parametrize("setup", [{}, {"sag_mm": 1e-3}, {"crank": "upright"}])
def test_an_arm_of_which_nobody_said_how_it_droops_is_named_where_it_would_turn_the_verdict(
    off_thou, told, setup
):
    """An arm that droops by a thou lifts the centre of a bore by as much: what seems low lies lower still."""
    fitter = Fitter(Setup.from_header({"limit_mm": LIMIT, **setup}))
    for k in range(12):
        value = off_thou * THOU * math.cos(math.radians(30 * k))
        fitter.add_station(30.0 * k, np.array([value]), np.array([float(k)]))
    found = [each for each in fitter.result().remarks if each.kind == "sag_unstated"]
    assert bool(found) == (told and not setup)
    for each in found:
        assert each.level == "note" and each.facts["run_out_mm"] == pytest.approx(
            2 * 2.9 * THOU, abs=0.1 * THOU
        )
