"""Our own distributions against those of SciPy, and against themselves."""

import subprocess
import sys

import numpy as np
import pytest
from scipy import special

from coaxly.fitter.numeric.quantiles import (
    MANY,
    bins_of_size,
    gamma_quantile,
    log_normal_below,
    normal_below,
    t_below,
    t_density,
    t_quantile,
)

FREEDOMS = (0.14, 0.5, 1.0, 1.5, 2.0, 3.0, 4.7, 7.0, 12.0, 30.0, 59.3, 119.0, 121.0, 400.0, 1e4, 9.9e5)
NODES = (np.polynomial.legendre.leggauss(48)[0] + 1.0) / 2.0


def test_normal_probabilities_and_their_logarithms():
    x = np.linspace(-37.0, 37.0, 20001)
    np.testing.assert_allclose(normal_below(x), special.ndtr(x), rtol=1e-12)
    np.testing.assert_allclose(log_normal_below(x), special.log_ndtr(x), rtol=1e-12)


@pytest.mark.parametrize("freedom", FREEDOMS)
def test_student_probabilities_in_the_middle_and_far_out(freedom):
    rng = np.random.default_rng(1)
    x = np.concatenate([rng.uniform(-6.0, 6.0, 400), -(10.0 ** rng.uniform(-6.0, 1.4, 200)), [0.0]])
    # With one degree it is Cauchy's, which has a closed form; SciPy's own keeps ten figures of it.
    cauchy = np.where(x < 0.0, np.arctan(1.0 / np.minimum(x, -1e-9)) / -np.pi, 0.5 + np.arctan(x) / np.pi)
    kept = cauchy if freedom == 1.0 else special.stdtr(freedom, x)
    told = kept > 1e-250
    np.testing.assert_allclose(t_below(x, freedom)[told], kept[told], rtol=1e-12)


def test_student_probabilities_keep_their_shape_and_are_normal_in_the_end():
    x = np.array([[-1.0, 0.0], [0.5, 2.0]])
    assert t_below(np.array(-1.0), 5.0).shape == ()
    np.testing.assert_allclose(t_below(x, 4.0), special.stdtr(4.0, x), rtol=1e-13)
    np.testing.assert_allclose(t_below(x, np.inf), special.ndtr(x), rtol=1e-13)
    np.testing.assert_allclose(t_below(x, 0.999 * MANY), special.ndtr(x), rtol=1e-5)


@pytest.mark.parametrize("freedom", FREEDOMS)
def test_student_quantiles(freedom):
    for p in (0.6, 0.95, 0.975, 0.9999):
        assert t_quantile(p, freedom) == pytest.approx(float(special.stdtrit(freedom, p)), rel=1e-12)


@pytest.mark.parametrize("freedom", FREEDOMS)
def test_a_density_is_the_slope_of_its_probability(freedom):
    x = np.array([-3.0, -1.0, 0.3, 2.0])
    slope = (t_below(x + 1e-5, freedom) - t_below(x - 1e-5, freedom)) / 2e-5
    np.testing.assert_allclose(t_density(x, freedom), slope, rtol=1e-7)


@pytest.mark.parametrize("freedom", FREEDOMS)
def test_gamma_quantiles(freedom):
    kept = special.gammaincinv(freedom / 2.0, NODES)
    told = kept > 1e-290
    np.testing.assert_allclose(gamma_quantile(NODES, freedom / 2.0)[told], kept[told], rtol=2e-12)


def test_a_sweep_is_fitted_and_a_plan_is_made_without_scipy():
    """It takes longer to load than such a sweep to fit."""
    code = (
        "import sys; from coaxly.main import main\n"
        "for arguments in (['replay', '--json', 'recordings/launch-found.jsonl'],"
        " ['plan', 'recordings/launch-found.jsonl', '--kit', '5thou,10thou']):\n"
        "    main(arguments)\n"
        "found = {name for name in sys.modules if name.partition('.')[0] == 'scipy'}\n"
        "assert not found, found"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr


def test_parts_of_a_mixture_lie_in_one_bin_if_they_are_of_like_size_whatever_the_last_bits_say():
    sizes = np.exp(np.random.default_rng(3).normal(0.0, 2.0, 1000))
    bins = bins_of_size(sizes, 0.15)
    within = [np.ptp(np.log(sizes[bins == k])) for k in np.unique(bins)]
    assert bins.min() == 0 and max(within) < 0.15 and (np.diff(bins[np.argsort(sizes)]) >= 0).all()
    assert np.ptp(bins_of_size(1.0 + 1e-13 * np.array([3.0, -1.0, 2.0, 0.0]), 0.15)) == 0
