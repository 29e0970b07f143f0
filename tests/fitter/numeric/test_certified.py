"""Certified and published data through our own arithmetic. Agreed digits (log relative error) are
asserted at the difficulty limits that the sources publish, and printed by tests/bench/certified.py."""

import math
from pathlib import Path

import numpy as np
import pytest
from factoring import unscaled

from coaxly.fitter.numeric.leastsquares import LeastSquares
from coaxly.fitter.shop.classical import classical

pytestmark = pytest.mark.arithmetic

DATA = Path(__file__).parents[2] / "data"


def digits(value, certified):
    """Log relative error: agreed decimal digits, at most 15."""
    if value == certified:
        return 15.0
    return min(15.0, -math.log10(abs(value - certified) / abs(certified)))


def nist(name):
    lines = (DATA / f"{name}.dat").read_text().splitlines()[60:]
    return np.array([[float(word) for word in line.split()] for line in lines if line.strip()])


def norris():
    """NIST StRD, linear regression, Norris (lower difficulty)."""
    factor = LeastSquares(2)
    for y, x in nist("Norris"):
        factor.absorb((1.0, x, y))
    s2 = factor.residual_sum / factor.freedom
    sd = np.sqrt(s2 * np.diag(unscaled(factor)))
    return [
        ("B0", factor.solution()[0], -0.262323073774029),
        ("B1", factor.solution()[1], 1.00211681802045),
        ("sd B0", sd[0], 0.232818234301152),
        ("sd B1", sd[1], 0.429796848199937e-03),
        ("residual sd", math.sqrt(s2), 0.884796396144373),
        ("residual sum", factor.residual_sum, 26.6173985294224),
    ]


def longley():
    """NIST StRD, linear regression, Longley (higher difficulty); data as shipped with statsmodels,
    certified values from memory and confirmed by statsmodels' own fit."""
    from statsmodels.datasets import longley as data

    table = data.load_pandas()
    factor = LeastSquares(7)
    for row, y in zip(table.exog.to_numpy(), table.endog.to_numpy(), strict=True):
        factor.absorb((1.0, *row, float(y)))
    certified = [
        -3482258.63459582, 15.0618722713733, -0.358191792925910e-01, -2.02022980381683,
        -1.03322686717359, -0.511041056535807e-01, 1829.15146461355,
    ]  # fmt: skip
    return [(f"B{k}", b, c) for k, (b, c) in enumerate(zip(factor.solution(), certified, strict=True))]


def simulated(k):
    """NIST StRD, analysis of variance, SmLs0k: 9 treatments of 21, 201 or 2001 readings about 1, 10^6
    or 10^12, which follow a rule, so that they need no file; certified F 21, 201, 2001."""
    n, level = (21, 201, 2001)[(k - 1) % 3], (1, 10**6, 10**12)[(k - 1) // 3]
    groups = []
    for tenths in (4, 3, 5, 3, 5, 3, 5, 3, 5):
        pattern = [tenths] + [tenths - 1 if i % 2 else tenths + 1 for i in range(1, n)]
        groups.append(np.array([float(f"{level}.{t}") for t in pattern]))
    return groups, float(n)


def groups_of(name):
    table = nist(name)
    return [table[table[:, 0] == key, 1] for key in np.unique(table[:, 0])]


def ratio(groups):
    """F of groups of one size."""
    (between, _) = classical(np.array(groups)[:, None, None, :, None])
    return between.f


LIMITS = {1: 12, 2: 12, 3: 12, 4: 9, 5: 9, 6: 9, 7: 4, 8: 4, 9: 4}


def test_norris():
    for name, value, certified in norris():
        assert digits(value, certified) >= 9, name


def test_longley():
    for name, value, certified in longley():
        assert digits(value, certified) >= 8, name


@pytest.mark.parametrize("k", sorted(LIMITS))
def test_simulated_analyses_of_variance(k):
    groups, certified = simulated(k)
    assert digits(ratio(groups), certified) >= LIMITS[k]


@pytest.mark.parametrize(
    ("name", "f", "limit"), [("SiRstv", 1.18046237440255, 12), ("AtmWtAg", 15.9467335677930, 9)]
)
def test_observed_analyses_of_variance(name, f, limit):
    """NIST StRD, analysis of variance: SiRstv (lower) and AtmWtAg (average difficulty)."""
    assert digits(ratio(groups_of(name)), f) >= limit


def test_simulated_rows_are_those_of_the_file():
    """First and last readings of SmLs07 as distributed."""
    groups, _ = simulated(7)
    assert groups[0][:3].tolist() == [1000000000000.4, 1000000000000.3, 1000000000000.5]
    assert groups[8][-2:].tolist() == [1000000000000.4, 1000000000000.6]


def test_plane_of_the_wire_bond_data():
    """D. C. Montgomery, G. C. Runger, Applied Statistics and Probability for Engineers, wire bond pull
    strength (from memory, recomputed): strength on wire length and die height."""
    z = [9.95, 24.45, 31.75, 35, 25.02, 16.86, 14.38, 9.60, 24.35, 27.5, 17.08, 37, 41.95, 11.66, 21.65, 17.89, 69,
         10.3, 34.93, 46.59, 44.88, 54.12, 56.63, 22.13, 21.15]  # fmt: skip
    x = [2, 8, 11, 10, 8, 4, 2, 2, 9, 8, 4, 11, 12, 2, 4, 4, 20, 1, 10, 15, 15, 16, 17, 6, 5]
    y = [50, 110, 120, 550, 295, 200, 375, 52, 100, 300, 412, 400, 500, 360, 205, 400, 600, 585, 540, 250, 290,
         510, 590, 100, 400]  # fmt: skip
    factor = LeastSquares(3)
    for row in zip(x, y, z, strict=True):
        factor.absorb((1.0, *row))
    s2 = factor.residual_sum / factor.freedom
    sd = np.sqrt(s2 * np.diag(unscaled(factor)))
    assert factor.solution() == pytest.approx([2.26379143, 2.74426964, 0.01252781], abs=5e-9)
    assert sd == pytest.approx([1.060066, 0.093524, 0.002798], abs=5e-7)
    assert s2 == pytest.approx(5.2352, abs=5e-5)
