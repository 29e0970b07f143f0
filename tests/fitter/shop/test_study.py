import dataclasses

import numpy as np
import pytest

from fitter.shop.study import Repeat, study


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
    found = [study(sweeps(seed), limit=2.0) for seed in range(3)]
    sizes = np.sqrt(np.mean([[c.sd**2 for c in f.components] for f in found], axis=0))
    assert sizes == pytest.approx((0.2, 0.3, 0.1), rel=0.6)
    assert all(f.improve == "mountings" for f in found[:3])
    assert found[0].repeatability_freedom == pytest.approx(80.0, rel=0.1)
    assert found[0].share == pytest.approx(2 * 1.96 * found[0].reproducibility / 2.0)
    assert found[0].limit_95 == pytest.approx(2.0 * 1.96 * 2.0**0.5 * found[0].repeatability)


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


def test_nothing_repeated_is_refused_in_words():
    with pytest.raises(ValueError, match="three times"):
        study([Repeat("A", "P", "1", (0.0, 0.0)), Repeat("B", "P", "1", (1.0, 0.0))])
