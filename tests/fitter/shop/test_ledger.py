"""Blocks and housings taken apart, in shops that were made with known blame."""

import dataclasses

import numpy as np
import pytest

from coaxly.fitter.numeric.quantiles import plane_factor
from coaxly.fitter.shop.changes import changes
from coaxly.fitter.shop.ledger import TOGETHER, Found, ledger
from coaxly.fitter.units import MM_PER_THOU

EFFECTS = {"R1": (0.0, 0.0), "R2": (3.0, -1.0), "R3": (-1.0, 4.0)}
MEAN = np.mean(list(EFFECTS.values()), axis=0)


def shop(seed, *, once, jobs=60):
    """Blocks scatter 4 thou, housings 2, measuring .3; effects of housing families in thou."""
    rng = np.random.default_rng(seed)
    housings, listed = {}, []
    for k in range(jobs):
        family = list(EFFECTS)[rng.integers(3)]
        name = f"h{k}" if once else f"h{rng.integers(4)}"
        own = housings.setdefault((family, name), rng.normal(size=2) * 2.0)
        v = EFFECTS[family] + own + rng.normal(size=2) * 4.0 + rng.normal(size=2) * 0.3
        u2 = (0.3 * MM_PER_THOU) ** 2
        listed.append(
            Found(f"K{rng.integers(2)}", f"b{k}", family, name, tuple((v * MM_PER_THOU).tolist()),
                  ((u2, 0.0), (0.0, u2)), float(k))
        )  # fmt: skip
    return listed


@pytest.mark.parametrize("once", [True, False], ids=["every piece once", "a few housings on many blocks"])
def test_intervals_hold_the_truth(once):
    held = effects = components = 0
    claimed, least = [], []
    shops = 24
    for seed in range(shops):
        found = ledger(shop(seed, once=once))
        for family in (f for f in found.families if f.side == "housing"):
            off = np.array(family.effect) / MM_PER_THOU - (np.array(EFFECTS[family.name]) - MEAN)
            spread = np.array(family.covariance) / MM_PER_THOU**2
            held += off @ np.linalg.solve(spread, off) <= plane_factor(0.95, family.freedom) ** 2
            effects += 1
        truth = [np.sqrt(20.0)] if once else [4.0, 2.0]
        # The Cramer-Rao bound: the covariance of the means at the true standard deviations.
        model, weights = found.fitted.model, np.array([[0.0, 0.0, -1.0 / 3.0, -1.0 / 3.0]])
        for row, sds in ((claimed, found.fitted.sds), (least, np.array(truth) * MM_PER_THOU)):
            pick = np.kron(weights, np.eye(2))
            row.append(np.trace(pick @ model.mean(sds).covariance @ pick.T))
        components += sum(
            c.low <= sd * MM_PER_THOU <= c.high for c, sd in zip(found.components, truth, strict=True)
        ) / len(truth)
    assert held / effects > 0.86
    assert np.sqrt(np.mean(claimed) / np.mean(least)) == pytest.approx(1.0, abs=0.1)
    assert components / shops > 0.85


def test_pieces_met_once_are_not_told_apart_and_that_is_said():
    found = ledger(shop(1, once=True))
    assert found.together and [c.name for c in found.components] == [TOGETHER]
    assert found.pieces == ()
    assert not ledger(shop(1, once=False)).together


def test_single_housings_met_often_are_named_with_what_is_known_of_them():
    jobs = shop(2, once=False, jobs=200)
    found = ledger(jobs)
    often = [piece for piece in found.pieces if piece.side == "housing"]
    assert {piece.met for piece in often} <= set(range(5, 60)) and len(often) == 12
    assert all(piece.u95 < 4.5 * MM_PER_THOU for piece in often)
    assert max(np.hypot(*piece.vector) for piece in often) > 1.0 * MM_PER_THOU


def test_a_family_alone_is_compared_with_nothing():
    jobs = [dataclasses.replace(job, block_family="K0") for job in shop(3, once=True)]
    block = next(f for f in ledger(jobs).families if f.side == "block")
    assert block.effect is None and block.compared == ("K0",)


def test_families_that_no_job_connects_are_not_compared():
    jobs = [dataclasses.replace(job, block_family="K1" if job.housing_family == "R1" else "K2")
            for job in shop(4, once=True)]  # fmt: skip
    found = ledger(jobs)
    assert found.groups == ((("K2",), ("R2", "R3")), (("K1",), ("R1",))) or len(found.groups) == 2
    by_name = {f.name: f for f in found.families if f.side == "housing"}
    assert by_name["R1"].effect is None and by_name["R2"].compared == ("R2", "R3")


def test_the_population_is_what_the_shop_has_met():
    jobs = shop(5, once=True, jobs=400)
    mean, covariance = ledger(jobs).population()
    vectors = np.array([job.vector for job in jobs])
    assert mean == pytest.approx(vectors.mean(axis=0), abs=0.5 * MM_PER_THOU)
    assert np.trace(covariance) == pytest.approx(np.trace(np.cov(vectors.T)), rel=0.15)


def moved(job, thou):
    return dataclasses.replace(job, vector=(job.vector[0] + thou * MM_PER_THOU, job.vector[1]))


def told(jobs):
    return [(c.side, c.family, c.kind) for c in changes(jobs, ledger(jobs))]


def test_nothing_is_accused_without_a_cause():
    alarms = sum(bool(told(shop(seed, once=True, jobs=90))) for seed in range(12))
    assert alarms <= 2


def test_a_new_batch_is_told_once_and_as_one():
    right = 0
    for seed in range(12):
        jobs = shop(seed, once=True, jobs=90)
        batch = [moved(job, 12) if job.housing_family == "R2" and job.day >= 45 else job for job in jobs]
        seen = told(batch)
        assert len(seen) <= 1
        right += seen == [("housing", "R2", "step")]
    assert right >= 8


def test_wear_is_told_once_and_as_wear():
    right = 0
    for seed in range(12):
        jobs = shop(seed, once=True, jobs=90)
        worn = [moved(job, 20 * job.day / 90) if job.housing_family == "R2" else job for job in jobs]
        seen = told(worn)
        assert len(seen) <= 1
        right += seen == [("housing", "R2", "trend")]
    assert right >= 8


def test_two_causes_are_both_told():
    jobs = [
        moved(job, {"R1": 25 * (job.day >= 100), "R2": -25 * (job.day >= 60), "R3": 0.0}[job.housing_family])
        for job in shop(1, once=True, jobs=180)
    ]
    seen = {(c.family, c.kind): c for c in changes(jobs, ledger(jobs))}
    assert set(seen) == {("R1", "step"), ("R2", "step")}
    assert seen["R1", "step"].day == pytest.approx(100, abs=8)
    assert seen["R2", "step"].shift[0] == pytest.approx(-25 * MM_PER_THOU, rel=0.25)


def test_families_met_in_the_very_same_jobs_are_accused_together():
    jobs = [
        dataclasses.replace(moved(job, 20 * (job.day >= 30)), block_family="K", housing_family="R")
        for job in shop(1, once=True)
    ]
    (change,) = changes(jobs, ledger(jobs))
    assert (change.side, change.family, change.also) == ("block", "K", ("R",))


def test_an_odd_housing_is_named_and_no_other_with_where_it_lies():
    right = alarms = others = 0
    for seed in range(10):
        jobs = shop(seed, once=False)
        alarms += bool(ledger(jobs).odd)
        odd = jobs[7].housing_family, jobs[7].housing
        jobs = [moved(job, 25) if (job.housing_family, job.housing) == odd else job for job in jobs]
        named = ledger(jobs).odd
        others += len(named) > 1
        for one in named[:1]:
            right += (one.side, one.family, one.name) == ("housing", *odd)
            assert one.met == sum((job.housing_family, job.housing) == odd for job in jobs)
            off = np.hypot(one.vector[0] - 25 * MM_PER_THOU, one.vector[1])
            assert off < 9 * MM_PER_THOU and 0.5 * MM_PER_THOU < one.u95 < 12 * MM_PER_THOU
    assert right >= 8 and alarms <= 1 and others <= 1


def test_an_odd_piece_met_once_is_named_by_its_job():
    jobs = [dataclasses.replace(job, job=f"j{k}") for k, job in enumerate(shop(3, once=True))]
    jobs[20] = moved(jobs[20], 40)
    found = ledger(jobs)
    assert [(one.job, one.met) for one in found.odd] == [("j20", 1)]


def test_sweeps_that_claim_far_more_than_they_repeat_to_are_taken_apart_all_the_same():
    rng = np.random.default_rng(20)
    blocks, housings = rng.normal(size=(2, 8, 2)) * 4.0
    jobs = []
    for _ in range(24):
        b, h = (int(k) for k in rng.integers(8, size=2))
        x, y = ((blocks[b] + housings[h] + rng.normal(size=2) * 0.4) * MM_PER_THOU).tolist()
        jobs.append(Found(f"K{b % 2}", f"b{b}", f"R{h % 3}", f"h{h}", (x, y), ((0.0, 0.0), (0.0, 0.0))))
    found = ledger(jobs)
    sizes = [each for one in found.components for each in (one.low, one.sd, one.high)]
    assert np.isfinite(sizes).all() and max(sizes) < 60 * MM_PER_THOU


def test_jobs_that_are_all_alike_scatter_nothing():
    nothing = ((1e-6, 0.0), (0.0, 1e-6))
    jobs = [
        Found("K", f"b{k % 3}", f"R{k % 2}", f"h{k % 4}", (0.1, 0.0), nothing, float(k)) for k in range(12)
    ]
    found = ledger(jobs)
    assert all(one.sd < 1e-3 for one in found.components) and found.odd == () and not changes(jobs, found)
    assert all(f.effect is None or not f.told for f in found.families)


def test_too_few_jobs_are_refused_in_words():
    with pytest.raises(ValueError, match="3 jobs are too few"):
        ledger(shop(1, once=True)[:3])
    with pytest.raises(ValueError, match="1 job is too few"):
        ledger(shop(1, once=True)[:1])
