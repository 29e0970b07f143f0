import dataclasses
import math

import numpy as np
import pytest

from coaxly.fitter.shop.study import Repeat, study


def sweeps(seed, people=0.2, mountings=0.3, repeats=0.1, persons="PQRST", times=3):
    rng = np.random.default_rng(seed)
    listed = []
    mind = {p: rng.normal(size=2) * people for p in persons}
    for house in "AB":
        truth = rng.normal(size=2) * 5.0
        for p in persons:
            for m in "12":
                put = rng.normal(size=2) * mountings
                for k in range(times):
                    v = truth + mind[p] + put + rng.normal(size=2) * repeats
                    listed.append(
                        Repeat(house, p, m, (float(v[0]), float(v[1])), 0.1, name=f"{house}{p}{m}{k}")
                    )
    return listed


def test_each_cause_gets_its_share():
    """Of 8 people, 2 housings, 2 mountings, 3 repeats: variances of shops in turn average out to the truth."""
    found = [study(sweeps(seed, persons="PQRSTUVW"), limit=2.0) for seed in range(12)]
    variances = np.array([[c.sd**2 for c in f.components] for f in found])
    # Of 12 x 14, 40 and 128 degrees: three standard deviations of such means.
    for seen, true, freedom in zip(variances.mean(axis=0), (0.04, 0.09, 0.01), (14, 40, 128), strict=True):
        assert seen == pytest.approx(true, rel=3.0 * math.sqrt(2.0 / (12 * freedom)))
    assert sum(f.improve == "mountings" for f in found) >= 8
    assert found[0].repeatability_freedom == pytest.approx(128.0, rel=0.001)
    assert found[0].share == pytest.approx(2 * 1.96 * found[0].reproducibility / 2.0)
    assert found[0].limit_95 == pytest.approx(2.0 * 1.96 * 2.0**0.5 * found[0].repeatability)


def test_what_the_sweeps_claim_is_the_root_of_their_mean_square_and_nothing_where_none_claims():
    listed = sweeps(1)
    halves = [dataclasses.replace(r, u=0.1 if k % 2 else 0.7) for k, r in enumerate(listed)]
    assert study(halves).claimed == pytest.approx(0.5)
    assert study([dataclasses.replace(r, u=None) for r in listed]).claimed is None


@pytest.mark.parametrize("sizes", [(0.2, 0.3, 0.1), (0.0, 0.3, 0.1), (0.2, 0.0, 0.1), (0.0, 0.0, 0.1)])
def test_where_everybody_did_the_same_the_classical_table_says_the_same(sizes):
    for seed in range(4):
        found = study(sweeps(seed, *sizes, persons="PQR"))
        by_table = {row.source: row.sd for row in found.table if row.sd is not None}
        assert list(by_table) == ["people", "mountings", "repeats"]
        assert [c.sd for c in found.components] == pytest.approx(list(by_table.values()), rel=1e-4, abs=2e-4)


@pytest.mark.parametrize(
    "change",
    [
        lambda listed: listed[1:],
        lambda listed: [r for r in listed if (r.housing, r.person) != ("A", "P")],
        lambda listed: [r for r in listed if (r.housing, r.person, r.mounting) != ("A", "P", "1")],
        lambda listed: [dataclasses.replace(r, sense=1 if r.name.endswith("0") else -1) for r in listed],
    ],
    ids=["a sweep less", "a person and housing less", "a mounting less", "both senses"],
)
def test_a_study_in_which_not_all_did_the_same_has_no_classical_table_and_is_taken_apart_all_the_same(change):
    found = study(change(sweeps(1)))
    assert found.table is None and len(found.components) == 3


def test_three_sweeps_of_one_housing_give_a_repeatability_with_four_degrees():
    found = study([r for r in sweeps(3) if r.name.startswith("AP1")])
    assert [c.name for c in found.components] == ["residual"]
    assert found.repeatability_freedom == pytest.approx(4.0, rel=0.01)
    assert found.improve == "repeats"


def test_a_mounting_for_every_sweep_cannot_be_told_from_the_repeats():
    alone = [r for r in sweeps(4, times=1) if r.person == "P" and r.housing == "A"]
    again = [dataclasses.replace(r, mounting=f"{k}") for k, r in enumerate(alone * 3)]
    assert study(again).together == (("repeats", "mountings"),)


def test_a_gap_between_the_senses_is_sized():
    rng = np.random.default_rng(6)
    listed = [
        Repeat("A", "P", "1", (1.0 + s * 0.3 + rng.normal() * 0.05, rng.normal() * 0.05), sense=s)
        for s in (1, -1) * 8
    ]
    found = study(listed)
    assert found.sense_gap == pytest.approx((0.6, 0.0), abs=0.15)
    assert found.sense_u95 < 0.2 and found.improve == "sense"


def test_the_sweep_that_does_not_belong_is_named_and_no_other():
    named = 0
    for seed in range(2):
        listed = sweeps(seed)
        named += study(listed).worst is not None
        odd = listed[5]
        listed[5] = dataclasses.replace(odd, vector=(odd.vector[0] + 1.0, odd.vector[1]))
        worst = study(listed).worst
        assert worst is not None and worst.name == odd.name
        assert worst.distance == pytest.approx(1.0, abs=0.35) and worst.deg == pytest.approx(90.0, abs=25.0)
    assert named <= 1


def test_a_housing_that_was_swept_once_says_nothing_and_is_accused_of_nothing():
    alone = Repeat("C", "P", "1", (40.0, 0.0), name="alone")
    found, without = study([*sweeps(1), alone]), study(sweeps(1))
    assert found.worst.name == without.worst.name
    assert found.worst.chance == pytest.approx(without.worst.chance, rel=0.02)
    assert found.repeatability == pytest.approx(without.repeatability, rel=1e-3)


def test_nothing_repeated_is_refused_in_words():
    with pytest.raises(ValueError, match="three times"):
        study([Repeat("A", "P", "1", (0.0, 0.0)), Repeat("B", "P", "1", (1.0, 0.0))])
