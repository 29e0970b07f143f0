"""The streaming fitter as a library: what it refuses, and that a refusal leaves the sweep as it was."""

import numpy as np
import pytest

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.errors import NotNumbers

DEG = np.arange(0.0, 360.0, 45.0)


def swept(bad=()):
    """A fitter after a sweep of eight, and after each of `bad` was refused on the way."""
    fitter = Fitter(Setup.from_header({}))
    for deg in DEG:
        for entered, shown, t in bad:
            with pytest.raises(NotNumbers):
                fitter.add_station(entered, np.array(shown), np.array(t))
        fitter.add_station(deg, np.array([0.1 * np.cos(np.radians(deg))]), np.array([deg]))
    return fitter


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_what_is_no_number_is_refused_and_harms_nothing(bad):
    refused = swept([(0.0, [bad], [0.0]), (bad, [0.1], [0.0]), (0.0, [0.1, 0.2], [0.0, bad])])
    assert refused.samples == len(DEG)
    assert refused.estimate() == swept().estimate()


def test_no_reading_and_columns_of_unlike_lengths_are_refused():
    refused = swept([(0.0, [], []), (0.0, [0.1, 0.2], [0.0])])
    assert refused.samples == len(DEG) and refused.estimate() == swept().estimate()


def test_samples_in_passing_are_checked_alike():
    fitter = Fitter(Setup.from_header({}))
    deg, t = np.linspace(0.0, 360.0, 720), np.linspace(0.0, 30.0, 720)
    shown = 0.1 * np.cos(np.radians(deg))
    for column in range(3):
        columns = [deg.copy(), shown.copy(), t.copy()]
        columns[column][300] = np.nan
        with pytest.raises(NotNumbers):
            fitter.add_track(*columns)
    with pytest.raises(NotNumbers):
        fitter.add_track(deg, shown[:-1], t)
    fitter.add_track(deg, shown, t)
    assert fitter.samples == 720 and fitter.estimate().amount == pytest.approx(0.1, rel=1e-3)
