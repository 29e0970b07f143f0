"""A dial against gauge steps: its errors come back, whichever way it counts, and with honest error bars."""

import numpy as np
import pytest

from coaxly.fitter import Fitter, FitterError, Setup, dial
from coaxly.fitter.dial import check_dial, rounds, ways
from coaxly.fitter.errors import NoCircle
from coaxly.fitter.reading.corrections import readings

STEPS = (0.0, 0.25, 0.5, 1.0, 1.5, 2.0)
UP_AND_DOWN = (*STEPS, *STEPS[::-1])


def checked(shown, steps=UP_AND_DOWN, **setup):
    fitter = Fitter(Setup.from_header({"steps_mm": list(steps), "zero_sd_deg": 0.0, **setup}, "steps"))
    for k, value in enumerate(shown):
        fitter.add_station(float(k), np.array([value]), np.array([float(k)]))
    return check_dial(fitter.setup, fitter.stations())


def wrong(nominal):
    """A dial that is wrong in a way no straight line takes out."""
    return 0.004 * nominal + 0.003 * np.sin(3.0 * nominal)


def test_each_reading_is_met_from_one_side_and_belongs_to_a_round():
    twice = [0.0, 1.0, 2.0, 2.0, 1.0, 0.0, 0.0, 1.0]
    assert ways(twice) == [1, 1, 1, -1, -1, -1, 1, 1]
    assert rounds(twice) == [0, 0, 0, 0, 0, 0, 1, 1]


@pytest.mark.parametrize("polarity", [1, -1])
def test_errors_and_hysteresis_come_back_whichever_way_the_dial_counts(polarity):
    n = np.array(UP_AND_DOWN)
    shown = polarity * (0.7 + n + wrong(n) + 0.002 * np.array(ways(UP_AND_DOWN)) / 2.0)
    found = checked(shown, polarity=polarity)
    assert [step.error for step in found.steps] == pytest.approx(list(wrong(np.array(STEPS))), abs=1e-12)
    assert found.hysteresis == pytest.approx(0.002)
    # With its table in the setup, the same dial measures what lies under it.
    setup = Setup.from_header({"calibration": [list(pair) for pair in found.table], "polarity": polarity})
    middle = polarity * (0.7 + np.array(STEPS) + wrong(np.array(STEPS)))
    assert np.diff(readings(setup, middle)) == pytest.approx(np.diff(STEPS), abs=1e-12)


def test_a_dial_that_is_set_anew_between_rounds_loses_nothing():
    n = np.array((*UP_AND_DOWN, *UP_AND_DOWN))
    again = np.repeat([0.0, 5.0], len(UP_AND_DOWN))
    found = checked(0.7 + n + wrong(n) + again, steps=(*UP_AND_DOWN, *UP_AND_DOWN))
    assert [step.error for step in found.steps] == pytest.approx(list(wrong(np.array(STEPS))), abs=1e-9)
    assert found.repeatability < 1e-6


def test_what_the_steps_themselves_may_be_wrong_by_is_in_every_error_but_not_in_hysteresis():
    n = np.array(UP_AND_DOWN)
    rng = np.random.default_rng(1)
    shown = n + rng.normal(0.0, 0.0005, len(n))
    sure, unsure = checked(shown), checked(shown, steps_mpe_mm=0.01)
    assert unsure.hysteresis_u95 == sure.hysteresis_u95
    # Two steps of an even +-0.01: standard uncertainty 0.01 sqrt(2 / 3) each difference.
    assert unsure.steps[1].u95 > 1.9 * 0.01 * np.sqrt(2.0 / 3.0) > 5.0 * sure.steps[1].u95
    assert unsure.steps[0].u95 == 0.0


def test_a_coarse_display_is_seen_and_sets_a_floor():
    n = np.array(UP_AND_DOWN)
    found = checked(np.round(n + wrong(n), 2))
    assert found.resolution == 0.01
    assert found.repeatability >= 0.01 / np.sqrt(12.0)


def test_steps_that_are_whole_ones_of_the_display_hide_hysteresis_and_its_error_bar_says_so():
    n = np.array(UP_AND_DOWN)
    gap = 0.004 * np.array(ways(UP_AND_DOWN)) / 2.0
    found = checked(np.round(n + 0.003 + gap, 2))  # in and out round to the same, or to neighbours
    assert abs(found.hysteresis - 0.004) <= found.hysteresis_u95
    fine = checked(n + 0.003 + gap, resolution_mm=0.0001)
    assert fine.hysteresis == pytest.approx(0.004) and fine.hysteresis_u95 < 0.001


@pytest.mark.parametrize("count", [0, 1, 5, 8])
def test_too_few_readings_are_told(count):
    with pytest.raises(FitterError, match=f"{count} readings of the steps are too few"):
        checked(list(UP_AND_DOWN[:count]))


def test_steps_are_no_sweep():
    fitter = Fitter(Setup.from_header({"steps_mm": [0.0, 1.0]}, "steps"))
    fitter.add_station(0.0, np.array([0.0]), np.array([0.0]))
    assert fitter.estimate() is None
    with pytest.raises(NoCircle):
        fitter.result()


@pytest.mark.parametrize("noise", [0.05, 0.15, 0.25])
def test_what_a_coarse_display_does_to_all_alike_is_that_of_normal_noise_rounded(noise):
    """The mean of rounded normal noise, worked out for every place between two steps of the display."""
    grid = 0.01
    places = (np.arange(400) + 0.5) / 400.0 * grid
    z = np.linspace(-8.0, 8.0, 8001)
    weight = np.exp(-0.5 * z * z)
    shown = np.rint((places[:, None] + noise * grid * z) / grid) * grid
    off = shown @ weight / weight.sum() - places
    # Only the first term of the series is reckoned with: the next is less than a third of it.
    expected = dial._rounded_alike((noise * grid) ** 2 + grid**2 / 12.0, grid)
    assert expected == pytest.approx(np.mean(off**2), rel=0.35)
    assert dial._rounded_alike(grid**2 / 13.0, grid) == pytest.approx((grid / np.pi) ** 2 / 2.0)
    assert dial._rounded_alike(1.0, None) == 0.0


@pytest.mark.parametrize("rounds_read", [2, 3])
def test_bars_hold_where_all_readings_of_a_step_are_rounded_alike(rounds_read):
    """A display of half a thou and a dial that repeats much better: reading a step again tells nothing new."""
    display, rng, held = 0.0127, np.random.default_rng(5), []
    for _ in range(60):
        errors = np.append(0.0, rng.normal(0.0, 0.003, len(STEPS) - 1))
        places = np.tile(np.arange(len(UP_AND_DOWN)), rounds_read) % len(UP_AND_DOWN)
        at = np.minimum(places, len(UP_AND_DOWN) - 1 - places)
        zero = np.repeat(rng.uniform(-display, display, rounds_read), len(UP_AND_DOWN))
        shown = np.array(STEPS)[at] + errors[at] + zero + rng.normal(0.0, 0.0005, len(at))
        found = checked(
            np.round(shown / display) * display, steps=UP_AND_DOWN * rounds_read, steps_mpe_mm=1e-6
        )
        held += [abs(step.error - e) <= step.u95 for step, e in zip(found.steps[1:], errors[1:], strict=True)]
    assert np.mean(held) >= 0.92
