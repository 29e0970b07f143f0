"""Whatever stations are read, in whatever order: a result of finite numbers, or an error in words."""

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.errors import FitterError
from coaxly.fitter.result import Result


def check(result: Result) -> None:
    ecc = result.eccentricity
    covariance = np.array(ecc.covariance)
    numbers = [*ecc.vector, *covariance.ravel(), ecc.u95_amount, ecc.u95_deg, ecc.detectable]
    assert all(map(math.isfinite, numbers))
    assert ecc.freedom is None or ecc.freedom > 0.0
    assert np.linalg.eigvalsh(covariance)[0] >= -1e-12 * np.trace(covariance)
    assert 0.0 <= result.decision.probability <= 1.0


@st.composite
def sweeps(draw):
    """Places in an order, with senses that change, and what the dial may do meanwhile."""
    places = draw(st.integers(3, 16))
    even = draw(st.booleans())
    step = 360.0 / places if even else draw(st.floats(2.0, 119.0))
    walk = [draw(st.sampled_from((step, step, step, -step, 0.0))) for _ in range(draw(st.integers(2, 24)))]
    deg = np.cumsum([0.0, *walk])
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    t = np.cumsum(draw(st.sampled_from((np.ones, rng.random, np.zeros)))(len(deg)))
    noise, drift, knock = (draw(st.sampled_from((0.0, size))) for size in (0.005, 0.05, 0.1))
    value = 1.0 - 0.1 * np.sin(np.deg2rad(deg)) + rng.normal(0.0, 1.0, len(deg)) * noise
    value += drift * np.arange(len(deg)) / len(deg) + knock * (
        np.arange(len(deg)) >= draw(st.integers(1, 24))
    )
    return deg, value, t, draw(st.booleans())


@settings(max_examples=150, deadline=None)
@given(sweeps())
@example((np.arange(16) * 45.0, np.where(np.arange(16) < 8, 1.0, 1.1), np.arange(16.0), False))
@example(
    (
        np.array([0.0, 360.0 / 7.0, 360.0 / 7.0, 360.0 / 7.0, 360.0 / 7.0, 720.0 / 7.0]),
        np.array([1.0, 0.9218, 0.9218, 0.9218, 0.9218, 0.9025]),
        np.arange(1.0, 7.0),
        False,
    )
)
def test_any_stations_give_finite_numbers_or_an_error_in_words(sweep):
    deg, value, t, closing = sweep
    fitter = Fitter(Setup(closing=closing))
    for k in range(len(deg)):
        fitter.add_station(float(deg[k]), value[k : k + 1], t[k : k + 1])
    try:
        check(fitter.result())
    except FitterError as error:
        assert str(error)


@pytest.mark.parametrize("at", range(1, 16))
def test_a_knock_anywhere_in_two_turns_with_drift_has_an_answer(at):
    n = np.arange(16)
    fitter = Fitter(Setup(closing=True))
    rng = np.random.default_rng(at)
    value = 1.0 - 0.1 * np.sin(n * math.pi / 4.0) + 0.02 * n / 15 + 0.1 * (n >= at) + rng.normal(0, 0.003, 16)
    for k in range(16):
        fitter.add_station(45.0 * k, value[k : k + 1], n[k : k + 1].astype(float))
    check(fitter.result())
