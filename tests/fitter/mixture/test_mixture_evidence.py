"""The sums over an eigenbasis are those of the dense formulas, node by node."""

import math

import numpy as np
import pytest

from coaxly.fitter.mixture import priors
from coaxly.fitter.mixture.evidence import Grid, evidence
from coaxly.fitter.mixture.layout import layout
from coaxly.fitter.mixture.search import search
from coaxly.fitter.reading.stations import EnteredStations
from coaxly.fitter.units import MM_PER_THOU as THOU

GRID = Grid(
    np.array([np.full(25, 0.02**2), np.full(25, 0.005**2)]), np.log([0.3, 0.7]),
    np.array([0.004, 0.02]) ** 2, np.log([0.6, 0.4]),
)  # fmt: skip


def table(n, seed=1, turns=1):
    stations = EnteredStations()
    dice = np.random.default_rng(seed)
    for k in range(n * turns):
        stations.add(360.0 / n * k, dice.normal(0.0, 0.02, 1), np.array([4.0 * k]))
    return stations.table()


def model(there):
    columns = layout([there])
    table = np.column_stack([columns.oval, columns.form, columns.drift])
    return columns, table, np.linspace(1e-6, 3e-6, len(there))


def dense(flat, table, value, known):
    """For each node the logarithm of its evidence (up to what is the same for all), the vector, and its
    covariance, by inverting the covariance of the readings."""
    found = []
    for variances, weight in zip(GRID.variances, GRID.log_weight, strict=True):
        for noise, weight_too in zip(GRID.noise, GRID.log_noise, strict=True):
            K = (table * variances[: table.shape[1]]) @ table.T + np.diag(known + noise)
            A = np.linalg.solve(K, flat)
            P = flat.T @ A
            b = np.linalg.solve(P, A.T @ value)
            misfit = value @ np.linalg.solve(K, value) - b @ P @ b
            log = weight + weight_too - 0.5 * (np.linalg.slogdet(K)[1] + np.linalg.slogdet(P)[1] + misfit)
            found.append((log, b[-2:], np.linalg.inv(P)[-2:, -2:]))
    return [np.array(column) for column in zip(*found, strict=True)]


@pytest.mark.parametrize("n", [6, 12])
def test_evidence_vector_and_covariance_are_those_of_the_dense_formulas(n):
    there = table(n)
    columns, form, known = model(there)
    grid = Grid(
        GRID.variances[:, : form.shape[1]], *[getattr(GRID, k) for k in ("log_weight", "noise", "log_noise")]
    )
    seen = evidence(columns.flat, form, columns.suspected, there.value, grid, known)
    log, vector, covariance = dense(columns.flat, form, there.value, known)
    assert seen.log - seen.log[0] == pytest.approx(log - log[0], abs=1e-9)
    assert seen.vector == pytest.approx(vector, rel=1e-9, abs=1e-12)
    assert seen.covariance == pytest.approx(covariance, rel=1e-9, abs=1e-15)


def test_more_readings_than_columns_cost_no_digits():
    """Forty readings of 24 columns: what lies outside of them is counted as noise alone."""
    there = table(8, turns=5)
    columns, form, _ = model(there)
    known = np.full(len(there), 2e-6)
    grid = Grid(
        GRID.variances[:, : form.shape[1]], *[getattr(GRID, k) for k in ("log_weight", "noise", "log_noise")]
    )
    seen = evidence(columns.flat, form, columns.suspected, there.value, grid, known)
    assert seen.basis.shape[1] < len(there)
    log, vector, _ = dense(columns.flat, form, there.value, known)
    assert seen.log - seen.log[0] == pytest.approx(log - log[0], abs=1e-8)
    assert seen.vector == pytest.approx(vector, rel=1e-8, abs=1e-12)


def test_a_fault_and_one_beside_it_are_two_columns_more():
    """Steps of rank one, against the model that holds both faults from the start."""
    there = table(12)
    value = there.value + 8 * THOU * (np.arange(12) >= 5) - 12 * THOU * (np.arange(12) == 2)
    columns, form, known = model(there)
    grid = Grid(
        GRID.variances[:, : form.shape[1]], *[getattr(GRID, k) for k in ("log_weight", "noise", "log_noise")]
    )
    seen = evidence(columns.flat, form, columns.suspected, value, grid, known)
    parts = search(seen, columns.suspects)
    knock = next(k for k, one in enumerate(columns.suspects) if one.knock and one.rows == (5,))
    bad = next(k for k, one in enumerate(columns.suspects) if not one.knock and one.rows == (2,))
    both = parts.faults == parts.sets.index(frozenset({knock, bad}))
    # Of the sizes looked at beside one another, the likeliest.
    best = np.flatnonzero(both)[np.argmax(parts.log[both])]
    near = []
    for first, second in [(8.0, 10.0), (2.0, 10.0), (8.0, 2.0), (8.0, 200.0)]:
        faults = columns.suspected[:, [knock, bad]] * np.array([first, second]) * THOU
        wide = np.column_stack([form, faults])
        _, vector, _ = dense_with(columns.flat, wide, value, known, form.shape[1])
        near.append(min(float(np.abs(each - parts.vector[best]).max()) for each in vector))
    assert min(near) < 1e-9
    assert parts.log[best] > parts.log[parts.faults == 0].max(initial=-math.inf)


def dense_with(flat, table, value, known, columns):
    """`dense` with columns of unit variance after the first ones."""
    found = []
    for variances in GRID.variances:
        for noise in GRID.noise:
            sizes = np.concatenate([variances[:columns], np.ones(table.shape[1] - columns)])
            K = (table * sizes) @ table.T + np.diag(known + noise)
            A = np.linalg.solve(K, flat)
            P = flat.T @ A
            found.append((0.0, np.linalg.solve(P, A.T @ value)[-2:], np.linalg.inv(P)[-2:, -2:]))
    return [np.array(column) for column in zip(*found, strict=True)]


def test_chances_beforehand_add_up():
    """Of five stations and more; fewer can accuse nobody."""
    suspects = layout([table(8)]).suspects
    unchecked = priors.KNOCK_UNCHECKED * priors.KNOCK.chance
    assert sum(one.chance for one in suspects) == pytest.approx(unchecked + priors.BAD.chance)
    twice = layout([table(8, turns=2)]).suspects
    assert sum(one.chance for one in twice) == pytest.approx(priors.KNOCK.chance + priors.BAD.chance)
    assert layout([table(4)]).suspects == ()
    for sizes in (priors.OVAL, priors.REST, priors.DRIFT, priors.KNOCK.sizes, priors.BAD.sizes):
        assert sum(share for _, share in sizes) == pytest.approx(1.0)
