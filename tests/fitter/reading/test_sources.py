"""Each stated error has its line in the budget, and moves it."""

import math
from dataclasses import replace

import numpy as np
import pytest

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.analysis import analyse
from coaxly.fitter.keys import Number, keys_of
from coaxly.fitter.reading import joining
from coaxly.fitter.reading.sources import STATED, Source

ERRORS = (
    joining.weighted, joining.anew, joining.by_tangent, joining.sag_doubt, joining.repeats,
    joining.weighted_where_level, joining.most_unless_unsaid,
)  # fmt: skip
"""Rules of joining that are about an error: what they join makes the vector unsure."""


def budget(**setup):
    """Of eight stations of a bore, by source."""
    fitter = Fitter(replace(Setup(), **setup))
    rng = np.random.default_rng(1)
    for k in range(8):
        value = 0.5 + 0.1 * math.cos(math.radians(45.0 * k - 30.0)) + rng.normal(0.0, 0.005)
        fitter.add_station(45.0 * k, np.array([value]), np.array([float(k)]))
    found = analyse(fitter.setup, fitter.stations(), 8).budget
    return {line.source: line.value for line in found}


def turning(**setup):
    """The same of a bore that is passed over at 60 degrees a second."""
    fitter = Fitter(replace(Setup(), **setup))
    deg = np.arange(0.0, 360.0, 3.0)
    noise = np.random.default_rng(1).normal(0.0, 0.005, len(deg))
    fitter.add_track(deg, 0.5 + 0.1 * np.cos(np.radians(deg - 30.0)) + noise, deg / 60.0)
    found = analyse(fitter.setup, fitter.stations(), len(deg)).budget
    return {line.source: line.value for line in found}


@pytest.mark.parametrize(
    ("source", "name"), [(source, name) for source, names in STATED.items() for name in names]
)
def test_a_key_that_states_an_error_moves_its_line(source, name):
    small, large = (3.0, 9.0) if name.endswith("_deg") else (0.01, 0.03)
    there = {"sag_mm": 0.05} if name == "sag_sd_mm" else {}  # an arm that does not droop has nothing unsure
    swept = turning if source == Source.DELAY else budget  # no dial is late where the crank stops
    before, after = swept(**there, **{name: small}), swept(**there, **{name: large})
    assert after[source] > 1.5 * before[source] > 0.0


def test_every_error_that_is_stated_has_a_source():
    keys = keys_of(Setup)
    errors = {name for name, one in keys.items() if isinstance(one.kind, Number) and one.joins in ERRORS}
    assert errors == {name for names in STATED.values() for name in names}


def test_a_rig_that_was_measured_is_named_with_what_it_states():
    found = budget(rig="arm", sag_mm=0.05, sag_sd_mm=0.01, calibration_sd_mm=0.01)
    assert {Source.SAG.of("arm"), Source.CALIBRATION.of("arm")} <= set(found)
    assert all(type(source) is str for source in found)
