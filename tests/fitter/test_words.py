"""Warnings come when their rule says so, and not before."""

import dataclasses
import math

import numpy as np
import pytest

from fitter import Fitter, Setup
from fitter.certainty.unseen import Unseen
from fitter.result import Checks, Form, Outlier, Tir
from fitter.words import warnings_for

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
    assert said(result) == ""
    return result


def said(result, **changes):
    changed = dataclasses.replace(result, **changes)
    return " / ".join(
        warnings_for(changed, Setup.from_header({"zero_sd_deg": 0.0}), 90.0, NOTHING_HIDES).warnings
    )


def checks(result, **changes) -> Checks:
    return dataclasses.replace(result.checks, **changes)


def test_a_third_of_the_circle_without_a_station_is_said(sound):
    assert said(sound, coverage_deg=119.0) == ""
    assert "nothing was read over 121 degrees" in said(sound, coverage_deg=121.0)


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_fifth_of_the_limit_is_too_much_at_the_closing_reading(sound, way):
    assert said(sound, checks=checks(sound, closure=way * 0.19 * LIMIT)) == ""
    assert "back at the first station" in said(sound, checks=checks(sound, closure=way * 0.21 * LIMIT))


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_fifth_of_the_limit_is_too_much_between_the_two_senses(sound, way):
    assert said(sound, checks=checks(sound, hysteresis=way * 0.19 * LIMIT)) == ""
    assert "turning back" in said(sound, checks=checks(sound, hysteresis=way * 0.21 * LIMIT))


def test_what_moving_cannot_cure_is_said_only_where_it_decides(sound):
    def tir(swept, fitted) -> Tir:
        return dataclasses.replace(sound.tir, swept=swept * LIMIT, fitted=fitted * LIMIT)

    assert "cannot cure the rest" in said(sound, tir=tir(1.01, 0.99))
    assert "cannot cure the rest" not in said(sound, tir=tir(1.5, 1.01))
    assert "cannot cure the rest" not in said(sound, tir=tir(0.99, 0.5))


def test_out_of_round_is_said_where_it_outweighs_the_offset_and_half_the_limit(sound):
    def with_form(form, fitted) -> str:
        tir = dataclasses.replace(sound.tir, swept=0.0, fitted=fitted * LIMIT)
        return said(sound, tir=tir, form=Form(form * LIMIT, None, None))

    assert "out of round" in with_form(0.6, 0.5)
    assert "out of round" not in with_form(0.45, 0.1)
    assert "out of round" not in with_form(0.9, 1.0)


@pytest.mark.parametrize(("residual", "side"), [(0.1, "too high"), (-0.1, "too low")])
def test_a_bad_station_is_named_with_its_side(sound, residual, side):
    bad = Outlier(90.0, "3:00", residual, 0.0, "a burr")
    words = said(sound, checks=checks(sound, outliers=(bad,)))
    assert "3:00" in words and side in words and "a burr" in words


def test_too_few_stations_to_judge_by_is_said(sound):
    one = dataclasses.replace(sound.model, harmonics=1)
    assert said(sound, stations=5, model=one) == ""
    assert "next to nothing to judge" in said(sound, stations=4, model=one)
