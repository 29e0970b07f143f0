"""Sectors that err together: what is left of their rows, against the covariance written out, and bars that
hold."""

import math
from functools import partial

import numpy as np
import pytest
from bench import passing
from bench.anysweep import judge
from chances import Tries, keeps, seldom

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.mixture.ties import Tie, averaged
from coaxly.fitter.units import MM_PER_THOU as THOU

KINDS = {kind.name: kind for kind in passing.KINDS}


def tied(phi, readings, sectors):
    """Correlations of means of so many readings each, of which those of neighbouring sectors correlate by
    phi: the covariance of all readings, written out and averaged."""
    one = phi ** (1.0 / readings)
    at = np.arange(readings * sectors)
    means = np.kron(np.eye(sectors), np.full(readings, 1.0 / readings))
    covariance = means @ one ** np.abs(np.subtract.outer(at, at)).astype(float) @ means.T
    return covariance / covariance[0, 0]


def density(covariance, value):
    return -0.5 * (np.linalg.slogdet(covariance)[1] + value @ np.linalg.solve(covariance, value))


@pytest.mark.parametrize("phi", [0.5, 0.9, 0.99])
@pytest.mark.parametrize(("readings", "within"), [(1, 1e-9), (3, 1e-4), (20, 1e-4)])
def test_loosened_rows_have_the_density_of_errors_that_are_tied(phi, readings, within):
    tie = Tie(((slice(0, 72), True),), phi, averaged(phi, readings))
    covariance = tied(phi, readings, 72)
    half = np.linalg.cholesky(covariance)
    for seed in range(5):
        value = half @ np.random.default_rng(seed).normal(size=72)
        alone = tie.loosened(value[:, None])[:, 0]
        assert tie.log - 0.5 * alone @ alone == pytest.approx(density(covariance, value), abs=within)


def test_rows_of_several_sweeps_are_tied_each_by_itself_and_stations_not_at_all():
    rows = (slice(0, 5), False), (slice(5, 25), True), (slice(25, 40), True)
    tie = Tie(rows, 0.8, ratio=0.5)
    covariance = np.eye(40)
    for part, passed in rows:
        if passed:
            covariance[part, part] = 0.25 * tied(0.8, 1, part.stop - part.start)
    value = np.linalg.cholesky(covariance) @ np.random.default_rng(2).normal(size=40)
    alone = tie.loosened(value[:, None])[:, 0]
    assert alone[:5] == pytest.approx(value[:5])
    assert tie.log - 0.5 * alone @ alone == pytest.approx(density(covariance, value), abs=1e-9)


@pytest.mark.parametrize(
    "name", ["tied over 150", "arc of 160-240 deg", "with a sweep that stops", "burr 2-20"]
)
def test_bars_of_sweeps_that_do_not_stop_hold_the_truth(name):
    sweeps = Tries(partial(judge, KINDS[name]), 5000)
    assert keeps(sweeps.column(0)) and keeps(sweeps.column(1)) and keeps(sweeps.column(2))


def test_a_knock_between_two_sectors_is_named_and_nothing_where_there_is_none():
    assert keeps(Tries(partial(judge, KINDS["knock 4-10"]), 5000).column(9), poor=0.75)
    assert seldom(Tries(partial(judge, KINDS["tied over 40"]), 5000).column(8), poor=0.2)


def test_more_stations_than_anybody_stops_at_are_judged_by_the_same_model():
    """Three hundred, of which one was taken down wrongly."""
    dice = np.random.default_rng(3)
    fitter = Fitter(Setup())
    for k in range(300):
        rad = math.radians(6.0 * k)
        read = 1.0 - 4 * THOU * math.sin(rad) + dice.normal(0.0, 0.3 * THOU) + 9 * THOU * (k == 130)
        fitter.add_station(6.0 * k % 360.0, np.array([read]), np.array([float(k)]))
    result = fitter.result()
    assert [round(bad.deg) for bad in result.checks.outliers] == [60]
    assert abs(result.eccentricity.amount - 4 * THOU) < result.eccentricity.u95_amount < 0.15 * THOU
