import math
from fractions import Fraction

import numpy as np
import pytest
from factoring import unscaled
from hypothesis import given
from hypothesis import strategies as st

from coaxly.fitter.numeric.basis import harmonic_rows
from coaxly.fitter.numeric.leastsquares import LeastSquares

pytestmark = pytest.mark.arithmetic

ANGLES = st.lists(st.floats(0.0, 359.0), min_size=12, max_size=60, unique_by=lambda x: round(x))


def rows_for(deg, seed=0, harmonics=2):
    X = harmonic_rows(np.array(deg), harmonics)
    y = np.random.default_rng(seed).normal(size=len(deg))
    return np.column_stack([X, y])


@given(ANGLES, st.integers(0, 1000))
def test_equals_batch_least_squares(deg, seed):
    table = rows_for(deg, seed, harmonics=1)
    X, y = table[:, :3], table[:, 3]
    stream = LeastSquares(3)
    stream.add_rows(table.tolist())
    if np.linalg.cond(X) > 100.0:
        return
    expected, rss, *_ = np.linalg.lstsq(X, y, rcond=None)
    assert stream.solution() == pytest.approx(expected, rel=1e-12, abs=1e-12)
    assert stream.residual_sum == pytest.approx(float(rss[0]), rel=1e-12, abs=1e-12)
    inverse = np.linalg.inv(X.T @ X)
    assert unscaled(stream) == pytest.approx(inverse, rel=1e-9, abs=1e-12)


@given(ANGLES, st.data())
def test_blocks_and_single_rows_give_the_same_bits(deg, data):
    table = rows_for(deg).tolist()
    cut = data.draw(st.integers(0, len(table)))
    one_by_one, in_two = LeastSquares(5), LeastSquares(5)
    for row in table:
        one_by_one.absorb(row)
    in_two.add_rows(table[:cut])
    in_two.add_rows(table[cut:])
    assert vars(one_by_one) == vars(in_two)


@given(ANGLES, st.randoms())
def test_order_does_not_matter(deg, random):
    table = rows_for(deg, harmonics=1).tolist()
    shuffled = list(table)
    random.shuffle(shuffled)
    a, b = LeastSquares(3), LeastSquares(3)
    a.add_rows(table)
    b.add_rows(shuffled)
    if np.linalg.cond(a.triangle()) < 100.0:
        assert a.solution() == pytest.approx(b.solution(), rel=1e-12, abs=1e-12)


def test_a_copy_goes_its_own_way():
    factor = LeastSquares(3)
    factor.add_rows(rows_for([0, 90, 180, 270], harmonics=1).tolist())
    before = factor.solution()
    other = factor.leading(3)
    other.absorb([1.0, 0.0, 1.0, 5.0])
    assert factor.solution() == before
    assert factor.freedom == 1 and other.freedom == 2


@given(ANGLES)
def test_its_first_unknowns_alone_are_a_factor_that_never_knew_of_the_others(deg):
    table = rows_for(deg, harmonics=2)
    whole, few = LeastSquares(5), LeastSquares(3)
    whole.add_rows(table.tolist())
    few.add_rows(np.delete(table, [3, 4], axis=1).tolist())
    leading = whole.leading(3)
    assert leading.solution() == few.solution()
    assert np.array_equal(unscaled(leading), unscaled(few))
    assert leading.rows == few.rows
    assert leading.residual_sum == pytest.approx(few.residual_sum, rel=1e-12)


def test_too_few_rows_say_so():
    factor = LeastSquares(3)
    factor.absorb([1.0, 1.0, 0.0, 2.0])
    with pytest.raises(ZeroDivisionError):
        factor.solution()


def test_gum_h3_calibration_line():
    """JCGM 100:2008, H.3: calibration of a thermometer, straight line about t0 = 20."""
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-171, -169, -166, -159, -164, -165, -156, -157, -159, -161, -160]
    factor = LeastSquares(2)
    for ti, bi in zip(t, b, strict=True):
        factor.absorb([1.0, ti - 20.0, bi / 1000.0])
    y = factor.solution()
    s2 = factor.residual_sum / factor.freedom
    cov = s2 * unscaled(factor)
    u = np.sqrt(np.diag(cov))
    assert y == pytest.approx([-0.171203790131, 0.00218269774], rel=1e-9)
    assert u == pytest.approx([0.002877597835, 0.000667938773], rel=1e-9)
    assert cov[0, 1] / u[0] / u[1] == pytest.approx(-0.93042960, rel=1e-7)
    assert math.sqrt(s2) == pytest.approx(0.00349756396, rel=1e-8)
    at30 = np.array([1.0, 10.0])
    assert float(at30 @ y) == pytest.approx(-0.149376812732, rel=1e-10)
    assert math.sqrt(at30 @ cov @ at30) == pytest.approx(0.004138595753, rel=1e-9)


@pytest.mark.parametrize(("harmonics", "arc"), [(1, 360.0), (1, 40.0), (2, 360.0), (2, 90.0), (3, 200.0)])
def test_solution_and_covariance_lose_no_digits_against_exact_arithmetic(harmonics, arc):
    """R b = t and (R'DR)^-1 in fractions, from the very triangle that the factor holds."""
    factor = LeastSquares(1 + 2 * harmonics)
    factor.add_rows(rows_for(np.linspace(0.0, arc, 40, endpoint=False), 3, harmonics).tolist())
    p, right = factor.parameters, [Fraction(number) for number in factor._right]
    diagonal = [Fraction(number) for number in factor._diagonal]
    off = iter([Fraction(number) for row in factor._above for number in row])
    R = [[Fraction(i == k) if k <= i else next(off) for k in range(p)] for i in range(p)]
    columns = []
    for j in [*range(p), None]:  # R^-1 column by column, then the solution
        x = right if j is None else [Fraction(i == j) for i in range(p)]
        for i in range(p - 2, -1, -1):
            x[i] -= sum(R[i][k] * x[k] for k in range(i + 1, p))
        columns.append(x)
    exact = [
        [sum(columns[j][i] * columns[j][k] / diagonal[j] for j in range(p)) for k in range(p)]
        for i in range(p)
    ]
    sizes = [math.sqrt(exact[i][i]) for i in range(p)]
    assert factor.solution() == pytest.approx([float(b) for b in columns[-1]], rel=1e-12)
    for i in range(p):
        for k in range(p):
            given_, wanted = unscaled(factor)[i, k], float(exact[i][k])
            assert given_ == pytest.approx(wanted, rel=1e-12, abs=1e-12 * sizes[i] * sizes[k])


def test_asking_too_early_spoils_nothing():
    table = rows_for(range(0, 360, 30)).tolist()
    asked, plain = LeastSquares(5), LeastSquares(5)
    for row in table:
        if asked.rows < 5:
            with pytest.raises(ZeroDivisionError):
                asked.solution()
        else:
            asked.solution()
        asked.absorb(row)
    plain.add_rows(table)
    assert vars(asked) == vars(plain) and asked.solution() == plain.solution()
