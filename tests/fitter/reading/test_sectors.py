from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coaxly.fitter.reading.sectors import Sectors
from coaxly.fitter.reading.stations import COLUMNS, SECTOR_DEG, Stations


def sweep(n=2000, turns=1.0, seed=0):
    deg = np.linspace(0.0, 360.0 * turns, n, endpoint=False) + 7.0
    value = 0.1 * np.cos(np.deg2rad(deg - 40)) + np.random.default_rng(seed).normal(0, 0.002, n)
    return deg, value, np.arange(n) / 1000.0


def same(a: Stations, b: Stations) -> bool:
    return all(np.array_equal(getattr(a, f), getattr(b, f), equal_nan=True) for f in COLUMNS)


@given(st.lists(st.integers(1, 2000), max_size=12), st.integers(0, 5))
def test_how_samples_are_cut_into_blocks_changes_no_bit(cuts, seed):
    deg, value, t = sweep(turns=1.7, seed=seed)
    whole, pieces = Sectors(), Sectors()
    whole.add(deg, value, t)
    edges = sorted({0, len(deg), *cuts})
    for a, b in pairwise(edges):
        pieces.add(deg[a:b], value[a:b], t[a:b])
    assert same(whole.table(), pieces.table())


def test_one_turn_fills_every_sector_once():
    sectors = Sectors()
    sectors.add(*sweep())
    table = sectors.table()
    # The sweep began in the middle of a sector and ends in it again.
    assert len(table.places()) == 360 / SECTOR_DEG + 1
    assert table.turns() == 1
    assert table.count.sum() == 2000
    assert table.largest_gap() == pytest.approx(SECTOR_DEG, abs=0.5)


def test_turns_count_from_the_lowest_though_somebody_looked_before_that():
    deg, value, t = sweep(turns=1.5)
    whole, looked = Sectors(), Sectors()
    whole.add(-deg, value, t)
    looked.add(-deg[:40], value[:40], t[:40])
    looked.table()
    looked.add(-deg[40:], value[40:], t[40:])
    assert same(whole.table(), looked.table()) and whole.table().turn[0] > 0


def test_turns_and_senses_are_kept_apart():
    deg, value, _ = sweep(turns=1.0)
    sectors = Sectors()
    sectors.add(np.concatenate([deg, deg[::-1]]), np.concatenate([value, value]), np.arange(4000.0))
    assert set(sectors.table().sense.tolist()) == {1, -1}


def test_a_trembling_hand_is_no_reversal():
    deg, value, t = sweep()
    tremble = deg + np.where(np.arange(len(deg)) % 2, 0.4, -0.4)
    sectors = Sectors()
    sectors.add(tremble, value, t)
    assert set(sectors.table().sense.tolist()) == {1}


@given(st.lists(st.floats(-1e5, 1e5), min_size=1, max_size=200))
def test_any_angles_are_taken(angles):
    sectors = Sectors()
    deg = np.array(angles)
    sectors.add(deg, np.zeros(len(deg)), np.arange(float(len(deg))))
    table = sectors.table()
    assert table.count.sum() == len(deg)
    assert ((table.deg >= 0) & (table.deg < 360)).all()


@given(st.lists(st.floats(-800, 800), min_size=1, max_size=40), st.integers(0, 5))
def test_samples_one_by_one_give_the_bits_of_a_block_wherever_the_crank_goes(degrees, seed):
    deg = np.array([step for d in degrees for step in (d, d + 1.7, d - 3.1)])
    value = np.random.default_rng(seed).normal(0, 0.1, len(deg))
    t = np.arange(len(deg)) / 7.0
    whole, single = Sectors(), Sectors()
    lowest = whole.add(deg, value, t)
    assert lowest == min(single.add(deg[k : k + 1], value[k : k + 1], t[k : k + 1]) for k in range(len(deg)))
    assert same(whole.table(), single.table())


@given(st.lists(st.integers(1, 2000), max_size=12), st.sampled_from([1.7, -2.3, 0.4]), st.booleans())
def test_looking_while_it_is_swept_changes_no_bit(cuts, turns, there_and_back):
    deg, value, t = sweep(turns=turns)
    if there_and_back:
        deg[1000:] = deg[999::-1]
    whole, looked_at = Sectors(), Sectors()
    whole.add(deg, value, t)
    for a, b in pairwise(sorted({0, len(deg), *cuts})):
        looked_at.add(deg[a:b], value[a:b], t[a:b])
        looked_at.table()
    assert same(whole.table(), looked_at.table())


def test_looking_at_a_long_sweep_costs_only_what_is_new_in_it(monkeypatch):
    sectors, worked = Sectors(), []
    sectors.add(*sweep(n=20_000, turns=30.0))
    plain = sectors._work_out
    monkeypatch.setattr(sectors, "_work_out", lambda a, b: worked.append(b - a) or plain(a, b))
    assert len(sectors.table()) > 30 * 70
    assert worked == [len(sectors)]
    for k in range(100):
        sectors.add(np.array([360.0 * 30 + 7.0 + k]), np.array([0.1]), np.array([20.0 + k]))
        sectors.table()
    assert sum(worked[1:]) <= 200
