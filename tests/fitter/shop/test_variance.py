import numpy as np
import pytest

from coaxly.fitter.shop.variance import REPEATABILITY, additive, crossed, one_way

STUDY = """.29 -.56 1.34 .47 -.80 .02 .59 -.31 2.26 -1.36 | .41 -.68 1.17 .50 -.92 -.11 .75 -.20 1.99 -1.25 | .64 -.58 1.27 .64 -.84 -.21 .66 -.17 2.01 -1.31 |
.08 -.47 1.19 .01 -.56 -.20 .47 -.63 1.80 -1.68 | .25 -1.22 .94 1.03 -1.20 .22 .55 .08 2.12 -1.62 | .07 -.68 1.34 .20 -1.28 .06 .83 -.34 2.19 -1.50 |
.04 -1.38 .88 .14 -1.46 -.29 .02 -.46 1.77 -1.49 | -.11 -1.13 1.09 .20 -1.07 -.67 .01 -.56 1.45 -1.77 | -.15 -.96 .67 .11 -1.45 -.49 .21 -.49 1.87 -2.16"""


def test_crossed_study():
    """AIAG, Measurement Systems Analysis, 4th ed.: 10 parts, 3 appraisers, 3 trials."""
    table = np.array([[float(v) for v in row.split()] for row in STUDY.split("|")]).reshape(3, 3, 10)
    study = crossed(table)
    sums = (study.people, study.parts, study.interaction, study.repeats)
    assert sums == pytest.approx((3.1673, 88.3619, 0.3590, 2.7589), abs=5e-5)
    sds = (study.repeat_sd, study.people_sd, study.both_sd, study.part_sd)
    assert sds == pytest.approx((0.199933, 0.226838, 0.302373, 1.042327), abs=2e-6)


def test_interlaboratory_precision():
    """ISO 5725-2, Annex B, sulfur in coal, level 1 (from memory, recomputed)."""
    labs = [
        [0.71, 0.71, 0.70, 0.71], [0.69, 0.67, 0.68], [0.66, 0.65, 0.69], [0.67, 0.65, 0.66],
        [0.70, 0.69, 0.66, 0.71, 0.69], [0.73, 0.74, 0.73], [0.71, 0.71, 0.69], [0.70, 0.65, 0.68],
    ]  # fmt: skip
    found = one_way([np.array(lab) for lab in labs])
    assert found.mean == pytest.approx(0.690370, abs=5e-7)
    assert found.repeatability_sd == pytest.approx(0.0151165, abs=5e-8)
    assert found.reproducibility_sd == pytest.approx(0.0263638, abs=5e-7)
    assert pytest.approx(2.8, abs=0.03) == REPEATABILITY


def test_days_of_a_voltage_standard():
    """JCGM 100:2008, H.5 (from memory, recomputed): ten days of five readings, F 2.26."""
    means = np.array([172, 116, 13, 144, 106, 31, 60, 125, 163, 41.0])
    sds = np.array([60, 77, 111, 101, 67, 93, 80, 73, 88, 86.0])
    rng = np.random.default_rng(1)
    days = []
    for mean, sd in zip(means, sds, strict=True):
        z = rng.normal(size=5)
        z = (z - z.mean()) / z.std(ddof=1)
        days.append(mean + sd * z)
    found = one_way(days)
    assert found.f == pytest.approx(2.26152, abs=0.01)
    assert found.repeatability_sd == pytest.approx(85, abs=0.5)
    between = (found.reproducibility_sd**2 - found.repeatability_sd**2) ** 0.5
    assert between == pytest.approx(43, abs=0.5)


def test_blocks_and_treatments():
    """G. E. P. Box, W. G. Hunter, J. S. Hunter, penicillin (from memory, recomputed)."""
    table = np.array(
        [[89, 88, 97, 94], [84, 77, 92, 79], [81, 87, 87, 85], [87, 92, 89, 84], [79, 81, 80, 88]], float
    )
    found = additive(table)
    assert found.mean == 86
    assert found.rows.tolist() == [6, -3, -1, 2, -4] and found.columns.tolist() == [-2, -1, 3, 0]
    assert (found.rows_ss, found.columns_ss, found.residual_ss) == pytest.approx((264, 70, 226))


def test_statsmodels_agrees_on_a_made_study():
    import pandas as pd
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    rng = np.random.default_rng(2)
    table = rng.normal(size=(3, 2, 6)) + rng.normal(size=(3, 1, 1)) + rng.normal(size=(1, 1, 6)) * 3
    rows = [(o, p, table[o, r, p]) for o in range(3) for r in range(2) for p in range(6)]
    frame = pd.DataFrame(rows, columns=["o", "p", "y"])
    peer = anova_lm(smf.ols("y ~ C(o) * C(p)", frame).fit())["sum_sq"].to_numpy()
    mine = crossed(table)
    assert (mine.people, mine.parts, mine.interaction, mine.repeats) == pytest.approx(peer, rel=1e-9)


@pytest.mark.parametrize("groups", [[], [[1.0, 2.0]], [[1.0], [2.0]]])
def test_too_little_to_compare_is_refused(groups):
    with pytest.raises(ValueError, match="two"):
        one_way([np.array(group) for group in groups])
    with pytest.raises(ValueError, match="two people"):
        crossed(np.zeros((1, 2, 2)))
