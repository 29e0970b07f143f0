"""Readings that are equal at one end of the travel, weighed: against draws, and by what becomes of the bar."""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from doubtful import World, clipped, sound, swept

from coaxly.fitter import Setup
from coaxly.fitter.clues.flat import stops
from coaxly.fitter.clues.sweeping import Looked
from coaxly.fitter.mixture import priors
from coaxly.fitter.mixture.bounds import Bound, beside, bounded
from coaxly.fitter.mixture.evidence import Grid
from coaxly.fitter.mixture.layout import layout
from coaxly.fitter.mixture.search import Parts
from coaxly.fitter.reading.stations import EnteredStations
from coaxly.fitter.units import MM_PER_THOU as THOU

OFF = [2.7, 0.7, 0, 0, 0, 0, 2.1, 3.3, 2.7]


def table(thou):
    stations = EnteredStations()
    for k, value in enumerate(thou):
        stations.add(360.0 * k / (len(thou) - 1), np.array([value * THOU]), np.array([4.0 * k]))
    return stations.table()


def view(columns, noise=0.2):
    """One node: an oval of half a thou, three lobes of a fifth, a drift of a third."""
    of_size = np.column_stack([columns.oval, columns.form, columns.drift])
    lobes = 0.2 * columns.shares
    variances = (np.concatenate([[0.5, 0.5], lobes, [0.3, 0.3, 0.3]]) * THOU) ** 2
    grid = Grid(variances[None], np.zeros(1), np.array([(noise * THOU) ** 2]), np.zeros(1))
    known = np.zeros((2, len(of_size)))
    return SimpleNamespace(table=of_size, grid=grid, known=known, log=lambda: np.zeros(1))


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_evidence_and_vector_are_those_of_draws(sign):
    there = table(sign * np.array(OFF))
    columns, value, rows = layout([there]), there.value, np.array([2, 3, 4, 5])
    seen, step = view(columns), 0.1 * THOU
    level = np.full(4, step / 2.0)
    (found,) = bounded(
        columns, [seen], np.zeros((9, 0)), value, [Bound(rows, sign, level, 3.0, step, sure=False)]
    )
    dice = np.random.default_rng(2)
    whole = np.column_stack([np.ones(9), columns.flat[:, -2:], seen.table])
    log, vectors, weights = [], [], []
    others = np.setdiff1d(np.arange(9), rows)
    for size, share in priors.OFFSET:
        offset = [(size * THOU) ** 2] * 2
        variances = np.concatenate([[priors.ZERO_MM**2], offset, seen.grid.variances[0]])
        S = (whole * variances) @ whole.T
        K = S + (seen.grid.noise[0] + step**2 / 12.0) * np.eye(9)
        off = value - np.median(value)
        o = np.ix_(others, others)
        asked = np.concatenate([S[rows], variances[1:3, None] * whole[:, 1:3].T])
        prior = np.block([[S[np.ix_(rows, rows)], asked[4:, rows].T], [asked[4:, rows], np.diag(offset)]])
        prior[:4, :4] += seen.grid.noise[0] * np.eye(4)
        gain = np.linalg.solve(K[o], asked[:, others].T).T
        drawn = dice.multivariate_normal(
            gain @ off[others], prior - gain @ asked[:, others].T, 100_000, method="eigh"
        )
        low = sign * (drawn[:, :4] + np.median(value)) <= step / 2.0
        log.append([math.log(share) + _density(off, K), math.log(share) + _density(off[others], K[o])])
        vectors.append(drawn[low.all(axis=1), 4:])
        weights.append(len(vectors[-1]) / len(drawn))
    plain, parts = np.logaddexp.reduce(np.array(log)[:, 0]), np.array(log)[:, 1] + np.log(weights)
    dense = np.logaddexp.reduce(parts) + 3.0 + math.log(priors.STOP_PER_MM) - plain
    assert found.odds == pytest.approx(dense, abs=0.15)
    share = np.exp(parts - np.logaddexp.reduce(parts))
    mean = share @ [one.mean(axis=0) for one in vectors]
    mixed = np.exp(found.log - found.odds) @ found.vector
    assert np.abs(mixed - mean).max() < 0.1 * np.linalg.norm(mean)


def _density(value, K):
    misfit = value @ np.linalg.solve(K, value)
    return -0.5 * (misfit + np.linalg.slogdet(K)[1] + len(value) * math.log(2.0 * math.pi))


def test_what_is_next_to_impossible_changes_nothing():
    there = table([3.0, 2.1, 0.0, 0.0, -3.0, -2.1, 0.0, 2.1, 3.0])
    columns = layout([there])
    bound = Bound(np.array([0, 8]), -1.0, -there.value[[0, 8]], 0.0, 0.1 * THOU, sure=False)
    found = bounded(columns, [view(columns)], np.zeros((9, 0)), there.value, [bound])
    none = Parts(
        np.zeros(1), np.zeros((1, 2)), np.eye(2)[None], np.zeros(1, int), np.zeros(1, int), (frozenset(),), 1
    )
    assert found[0].odds < math.log(1e-4)
    parts, _, stop = beside(none, [bound], found)
    assert parts is none and stop.tolist() == [-1]
    likely = [replace(found[0], log=found[0].log + 9.0)]
    parts, _, stop = beside(none, [bound], likely)
    assert len(parts.log) == len(stop) == 1 + len(found[0].log) and stop.max() == 0
    assert beside(none, [replace(bound, sure=True)], likely)[0] is none


def test_where_readings_are_equal_all_of_them_are_bounds():
    looked = Looked.at(Setup(closing=True), table(OFF))
    found = [(bound.rows.tolist(), bound.sign) for bound, _ in stops(looked)]
    assert ([2, 3, 4, 5], 1.0) in found and not any(rows in ([2, 3], [2, 3, 4]) for rows, _ in found)
    assert [rows for rows, sign in found if sign < 0.0] == []


def test_the_bar_holds_what_a_stop_cut_off():
    """Of forty sweeps in each of which a third to two thirds of the travel are lost."""
    held = 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        world = World(off=rng.uniform(3.0, 6.0), noise=rng.uniform(0.03, 0.3), streamed=False)
        result = swept(rng, world, clipped(rng.uniform(0.35, 0.65), low=seed % 2 == 0))
        assert result.decision.state != "inside"
        held += abs(result.eccentricity.amount - world.off * THOU) <= result.eccentricity.u95_amount
    assert held >= 36


def test_the_budget_says_what_a_stop_has_of_the_bar():
    world = World(off=4.0, streamed=False)
    for fault, there in ((clipped(0.5), True), (sound, False)):
        sizes = {line.source: line.value for line in swept(np.random.default_rng(1), world, fault).budget}
        assert (sizes.get("tip off, or plunger at its stop", 0.0) > 0.5 * THOU) is there
