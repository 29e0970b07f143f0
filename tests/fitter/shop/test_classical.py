"""The classical analysis of variance against published studies and a general-purpose package."""

import math

import numpy as np
import pytest

from coaxly.fitter.shop.classical import classical
from coaxly.fitter.shop.study import chance_of_farthest

STUDY = """.29 -.56 1.34 .47 -.80 .02 .59 -.31 2.26 -1.36 | .41 -.68 1.17 .50 -.92 -.11 .75 -.20 1.99 -1.25 | .64 -.58 1.27 .64 -.84 -.21 .66 -.17 2.01 -1.31 |
.08 -.47 1.19 .01 -.56 -.20 .47 -.63 1.80 -1.68 | .25 -1.22 .94 1.03 -1.20 .22 .55 .08 2.12 -1.62 | .07 -.68 1.34 .20 -1.28 .06 .83 -.34 2.19 -1.50 |
.04 -1.38 .88 .14 -1.46 -.29 .02 -.46 1.77 -1.49 | -.11 -1.13 1.09 .20 -1.07 -.67 .01 -.56 1.45 -1.77 | -.15 -.96 .67 .11 -1.45 -.49 .21 -.49 1.87 -2.16"""


def by_source(table):
    return {row.source: row for row in classical(table)}


def test_a_gauge_study_of_ten_parts():
    """AIAG, Measurement Systems Analysis, 4th ed.: 10 parts, 3 appraisers, 3 trials; the interaction pooled."""
    table = np.array([[float(v) for v in row.split()] for row in STUDY.split("|")]).reshape(3, 3, 10)
    found = by_source(table.transpose(0, 2, 1)[:, :, None, :, None])
    squares = [found[name].squares for name in ("people", "housings", "mountings", "repeats")]
    assert squares == pytest.approx([3.1673, 88.3619, 0.3590, 2.7589], abs=5e-5)
    assert [found[name].freedom for name in ("people", "housings", "mountings", "repeats")] == [2, 9, 18, 60]
    # Equipment and appraiser variation, and both.
    assert found["repeats"].sd == pytest.approx(0.199933, abs=1e-6)
    assert found["people"].sd == pytest.approx(0.226838, abs=1e-6)
    assert math.hypot(found["people"].sd, found["repeats"].sd) == pytest.approx(0.302373, abs=2e-6)
    assert found["mountings"].sd == 0.0


def test_days_of_a_voltage_standard():
    """JCGM 100:2008, H.5 (from memory, recomputed): ten days of five readings; uV."""
    means = [172, 116, 13, 144, 106, 31, 60, 125, 163, 41]
    sds = [60, 77, 111, 101, 67, 93, 80, 73, 88, 86]
    shape = np.array([-2.0, -1.0, 0.0, 1.0, 2.0]) / math.sqrt(2.5)
    table = np.array([mean + sd * shape for mean, sd in zip(means, sds, strict=True)])
    found = by_source(table[:, None, None, :, None])
    assert found["people"].f == pytest.approx(2.26152, abs=5e-5)
    assert found["people"].sd == pytest.approx(43, abs=0.5)
    assert found["repeats"].sd == pytest.approx(85, abs=0.5)


def test_blocks_and_treatments_swept_once_each():
    """G. E. P. Box, W. G. Hunter, J. S. Hunter, penicillin (from memory, recomputed)."""
    table = np.array(
        [[89, 88, 97, 94], [84, 77, 92, 79], [81, 87, 87, 85], [87, 92, 89, 84], [79, 81, 80, 88]], float
    )
    found = by_source(table[:, :, None, None, None])
    squares = [found[name].squares for name in ("people", "housings", "repeats")]
    assert squares == pytest.approx([264, 70, 226])


def test_resistivity_of_silicon():
    """NIST Statistical Reference Datasets, SiRstv (public domain): five instruments, five readings each."""
    table = np.array([
        [196.3052, 196.1240, 196.1890, 196.2569, 196.3403], [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
        [196.1303, 196.2005, 196.2889, 196.0343, 196.1811], [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
        [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
    ])  # fmt: skip
    found = by_source(table[:, None, None, :, None])
    assert found["people"].squares == pytest.approx(5.11462616000000e-02, rel=1e-11)
    assert found["repeats"].squares == pytest.approx(2.16636560000000e-01, rel=1e-11)
    assert found["people"].f == pytest.approx(1.18046237440255, rel=1e-11)


def test_a_general_purpose_package_agrees_on_people_housings_and_mountings():
    import pandas as pd
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    table = np.random.default_rng(1).normal(size=(3, 4, 2, 3, 1))
    p, h, m, _, _ = np.indices(table.shape)
    frame = pd.DataFrame({"y": table.ravel(), "p": p.ravel(), "h": h.ravel(), "m": m.ravel()})
    peer = anova_lm(smf.ols("y ~ C(p) + C(h) + C(p):C(h) + C(p):C(h):C(m)", frame).fit())["sum_sq"]
    found = by_source(table)
    assert found["people"].squares == pytest.approx(peer["C(p)"], rel=1e-9)
    assert found["housings"].squares == pytest.approx(peer["C(h)"], rel=1e-9)
    inside = peer["C(p):C(h)"] + peer["C(p):C(h):C(m)"]
    assert found["mountings"].squares == pytest.approx(inside, rel=1e-9)
    assert found["repeats"].squares == pytest.approx(peer["Residual"], rel=1e-9)


def test_two_components_are_two_studies_in_one():
    one = np.random.default_rng(2).normal(size=(2, 3, 2, 2, 1))
    single, double = by_source(one), by_source(np.concatenate([one, one], axis=4))
    for name, row in single.items():
        assert double[name].squares == pytest.approx(2.0 * row.squares)
        assert double[name].freedom == 2 * row.freedom and double[name].f == pytest.approx(row.f)


def test_a_mounting_for_each_sweep_counts_as_repeats_and_nothing_repeated_is_refused():
    rng = np.random.default_rng(3)
    assert [row.source for row in classical(rng.normal(size=(1, 1, 5, 1, 2)))] == ["repeats"]
    with pytest.raises(ValueError, match="nothing was repeated"):
        classical(rng.normal(size=(1, 3, 1, 1, 2)))


def test_the_farthest_of_vectors_is_named_as_often_as_was_said():
    rng = np.random.default_rng(4)
    y = rng.normal(size=(4000, 12, 2))
    rest = y - y.mean(axis=1, keepdims=True)
    shares = (rest**2).sum(axis=2) / (1 - 1 / 12) / (rest**2).sum(axis=(1, 2))[:, None]
    chances = [chance_of_farthest(share, 22.0, 12) for share in shares.max(axis=1)]
    assert np.mean(np.array(chances) < 0.05) == pytest.approx(0.05, abs=0.012)
