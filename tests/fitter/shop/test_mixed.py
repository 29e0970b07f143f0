"""The mixed model against brute force, a general-purpose package and published studies."""

import numpy as np
import pytest

from coaxly.fitter.shop import mixed
from coaxly.fitter.shop.mixed import Factor, MixedModel
from coaxly.fitter.shop.reml import component, fit

STUDY = """.29 -.56 1.34 .47 -.80 .02 .59 -.31 2.26 -1.36 | .41 -.68 1.17 .50 -.92 -.11 .75 -.20 1.99 -1.25 | .64 -.58 1.27 .64 -.84 -.21 .66 -.17 2.01 -1.31 |
.08 -.47 1.19 .01 -.56 -.20 .47 -.63 1.80 -1.68 | .25 -1.22 .94 1.03 -1.20 .22 .55 .08 2.12 -1.62 | .07 -.68 1.34 .20 -1.28 .06 .83 -.34 2.19 -1.50 |
.04 -1.38 .88 .14 -1.46 -.29 .02 -.46 1.77 -1.49 | -.11 -1.13 1.09 .20 -1.07 -.67 .01 -.56 1.45 -1.77 | -.15 -.96 .67 .11 -1.45 -.49 .21 -.49 1.87 -2.16"""


def made(seed=1, n=40, d=2, *, circles=False):
    rng = np.random.default_rng(seed)
    a, b = rng.integers(0, 5, n), rng.integers(0, 30, n)
    y = rng.normal(size=(5, d))[a] * 2 + rng.normal(size=(30, d))[b] + rng.normal(size=(n, d)) * 0.5
    root = rng.normal(size=(n, d, d)) * 0.3
    known = root @ root.transpose(0, 2, 1) + 0.05 * np.eye(d)
    if circles:
        known = known[:, :1, :1] * np.eye(d)
    design = np.column_stack([np.ones(n), rng.normal(size=n)])
    return MixedModel(y, known, design, [Factor("a", a), Factor("b", b)], residual=True)


def by_force(model, sds):
    """The restricted likelihood and the fixed part from the whole covariance matrix."""
    n, d = model.y.shape
    V = np.zeros((n * d, n * d))
    for j in range(n):
        V[j * d : j * d + d, j * d : j * d + d] = model.known[j] + (1e-4 * model.scale) ** 2 * np.eye(d)
    for factor, sd in zip(model.factors, sds, strict=False):
        V += sd**2 * np.kron(factor.levels[:, None] == factor.levels[None, :], np.eye(d))
    V += sds[-1] ** 2 * np.eye(n * d)
    X, y = np.kron(model.design, np.eye(d)), model.y.ravel()
    inverse = np.linalg.inv(V)
    information = X.T @ inverse @ X
    beta = np.linalg.solve(information, X.T @ inverse @ y)
    rest = y - X @ beta
    deviance = np.linalg.slogdet(V)[1] + np.linalg.slogdet(information)[1] + rest @ inverse @ rest
    P = inverse - inverse @ X @ np.linalg.solve(information, X.T @ inverse)
    return deviance + (len(y) - X.shape[1]) * np.log(2 * np.pi), beta, np.linalg.inv(information), P, y


WAYS = {"dense": 400, "sparse": 0}


@pytest.fixture(params=WAYS)
def way(request, monkeypatch):
    """The equations are solved in two ways, by how many unknowns there are."""
    monkeypatch.setattr(mixed, "DENSE", WAYS[request.param])
    return request.param


@pytest.mark.parametrize("sds", [(2.0, 1.0, 0.5), (0.0, 1.0, 0.0), (3.0, 0.0, 0.7)])
@pytest.mark.parametrize("circles", [True, False], ids=["circles", "ellipses"])
def test_equations_agree_with_the_whole_covariance_matrix(sds, circles, way):
    model = made(circles=circles)
    deviance, beta, covariance, P, y = by_force(model, sds)
    assert model.deviance(sds) == pytest.approx(deviance, rel=1e-9)
    found = model.mean(sds)
    assert found.coefficients.ravel() == pytest.approx(beta, rel=1e-8)
    assert found.covariance == pytest.approx(covariance, rel=1e-7, abs=1e-12)
    left, room = model.apart(sds)
    assert left.ravel() == pytest.approx(P @ y, rel=1e-6, abs=1e-8)
    assert room[3] == pytest.approx(P[6:8, 6:8], rel=1e-6, abs=1e-8)


@pytest.mark.parametrize("circles", [True, False], ids=["circles", "ellipses"])
@pytest.mark.parametrize("variances", [(4.0, 1.0, 0.25), (4.0, 0.0, 0.25)])
def test_slopes_are_those_of_the_deviance(circles, variances):
    model = made(circles=circles)
    here = model.slopes(np.sqrt(variances))
    assert here.deviance == model.deviance(np.sqrt(variances))
    for k in range(3):
        step = 1e-4 * np.eye(3)[k]
        there = model.slopes(np.sqrt(np.array(variances) + step))
        # At nothing there is only one side to go to.
        back = model.slopes(np.sqrt(np.maximum(np.array(variances) - step, 0.0)))
        apart = 2e-4 if variances[k] else 1e-4
        rel = 1e-5 if variances[k] else 1e-2
        assert (there.deviance - back.deviance) / apart == pytest.approx(here.gradient[k], rel=rel, abs=1e-6)
        assert (there.gradient - back.gradient) / apart == pytest.approx(here.curved[k], rel=rel, abs=1e-2)


def test_expected_curvature_is_the_trace_of_the_covariance_matrices():
    model, sds = made(circles=False), (2.0, 1.0, 0.5)
    _, _, _, P, _ = by_force(model, sds)
    parts = [np.kron(f.levels[:, None] == f.levels[None, :], np.eye(2)) for f in model.factors]
    pulled = [P @ part for part in [*parts, np.eye(len(P))]]
    traces = [[np.trace(a @ b) for a in pulled] for b in pulled]
    assert model.slopes(sds).expected == pytest.approx(np.array(traces), rel=1e-8)


def test_many_unknowns_give_the_same_fit_as_few(way):
    model = made(n=80)
    found = fit(model)
    assert model.dense == (way == "dense")
    assert found.sds == pytest.approx((1.88498861, 0.92570560, 0.29539541), rel=1e-6)
    assert found.deviance == pytest.approx(by_force(model, found.sds)[0], rel=1e-9)


def test_predicted_levels_and_what_remains_unknown_of_them(way):
    model, sds = made(), (2.0, 1.0, 0.5)
    _, _, _, P, y = by_force(model, sds)
    for k, factor in enumerate(model.factors):
        values, met = model.predicted(sds, k)
        levels = np.flatnonzero(met)
        unsure = model.unsure(sds, k, levels.tolist())
        for at, level in enumerate(levels):
            Z = np.kron((factor.levels == level)[:, None], np.eye(2))
            assert values[level] == pytest.approx(sds[k] ** 2 * Z.T @ P @ y, rel=1e-7, abs=1e-10)
            left = sds[k] ** 2 * np.eye(2) - sds[k] ** 4 * Z.T @ P @ Z
            assert unsure[at] == pytest.approx(left, rel=1e-6, abs=1e-9)


def test_a_balanced_study_gives_what_the_analysis_of_variance_gives():
    """AIAG, Measurement Systems Analysis, 4th ed.: 10 parts, 3 appraisers, 3 trials, pooled."""
    table = np.array([[float(v) for v in row.split()] for row in STUDY.split("|")]).reshape(3, 3, 10)
    people, _, parts = np.indices(table.shape)
    y = table.reshape(-1, 1)
    factors = [Factor("people", people.ravel()), Factor("parts", parts.ravel())]
    found = fit(MixedModel(y, np.zeros((90, 1, 1)), np.ones((90, 1)), factors, residual=True))
    assert found.sds == pytest.approx((0.226838, 1.042327, 0.199933), rel=2e-4)


def test_a_general_purpose_package_agrees_on_an_unbalanced_study():
    import pandas as pd
    import statsmodels.formula.api as smf

    rng = np.random.default_rng(5)
    group = rng.integers(0, 12, 80)
    x = rng.normal(size=80)
    y = 1.0 + 0.5 * x + rng.normal(size=12)[group] * 0.8 + rng.normal(size=80) * 0.4
    peer = smf.mixedlm("y ~ x", pd.DataFrame({"y": y, "x": x}), groups=group).fit(reml=True)
    model = MixedModel(y[:, None], np.zeros((80, 1, 1)), np.column_stack([np.ones(80), x]),
                       [Factor("g", group)], residual=True)  # fmt: skip
    mine = fit(model)
    at = model.mean(mine.sds)
    assert at.coefficients.ravel() == pytest.approx(peer.fe_params.to_numpy(), abs=1e-4)
    assert np.sqrt(np.diag(at.covariance)) == pytest.approx(peer.bse_fe.to_numpy(), rel=5e-3)
    assert mine.sds[0] ** 2 == pytest.approx(float(peer.cov_re.iloc[0, 0]), rel=2e-3)
    assert mine.sds[1] ** 2 == pytest.approx(float(peer.scale), rel=2e-3)


def test_a_general_purpose_package_agrees_where_people_and_parts_are_crossed():
    """A crossed design is one group with a variance for each factor."""
    import pandas as pd
    from statsmodels.regression.mixed_linear_model import MixedLM, VCSpec

    rng = np.random.default_rng(6)
    a, b = rng.integers(0, 6, 90), rng.integers(0, 15, 90)
    x = rng.normal(size=90)
    y = 2.0 + x + rng.normal(size=6)[a] * 0.7 + rng.normal(size=15)[b] * 1.2 + rng.normal(size=90) * 0.4
    columns = [pd.get_dummies(pd.Series(each)).to_numpy(dtype=float) for each in (a, b)]
    names = [[f"{k}" for k in range(each.shape[1])] for each in columns]
    spec = VCSpec(["a", "b"], [[names[0]], [names[1]]], [[columns[0]], [columns[1]]])
    peer = MixedLM(y, np.column_stack([np.ones(90), x]), np.zeros(90), exog_vc=spec).fit(reml=True)
    model = MixedModel(y[:, None], np.zeros((90, 1, 1)), np.column_stack([np.ones(90), x]),
                       [Factor("a", a), Factor("b", b)], residual=True)  # fmt: skip
    mine = fit(model)
    assert np.square(mine.sds) == pytest.approx([*peer.vcomp, peer.scale], rel=2e-3)
    at = model.mean(mine.sds)
    assert at.coefficients.ravel() == pytest.approx(np.asarray(peer.fe_params), abs=1e-3)
    assert np.sqrt(np.diag(at.covariance)) == pytest.approx(np.asarray(peer.bse_fe), rel=5e-3)
    # Both have found the same likelihood, up to what it leaves out of the constant.
    assert mine.deviance <= model.deviance(np.sqrt([*peer.vcomp, peer.scale])) + 1e-9


def test_an_interval_reaches_zero_where_there_may_be_no_such_scatter():
    rng = np.random.default_rng(3)
    levels = np.arange(30) // 3
    y = rng.normal(size=(30, 2))
    model = MixedModel(y, np.zeros((30, 2, 2)), np.ones((30, 1)), [Factor("g", levels)], residual=True)
    found = fit(model)
    apart, own = component(found, 0), component(found, 1)
    assert apart.low == 0.0 and apart.high > 0.1
    assert own.low > 0.6 and own.low < own.sd < own.high
    ceiling = found.deviance + 3.8415
    for edge in (own.low, own.high):
        near = min(model.deviance((sd, edge)) for sd in np.linspace(0.0, 1.0, 101))
        assert near == pytest.approx(ceiling, abs=0.05)


def test_degrees_of_freedom_of_a_plain_scatter_are_those_of_the_textbook():
    rng = np.random.default_rng(4)
    y = rng.normal(size=(12, 2))
    found = fit(MixedModel(y, np.zeros((12, 2, 2)), np.ones((12, 1)), [], residual=True))
    assert found.sds[0] ** 2 == pytest.approx(((y - y.mean(axis=0)) ** 2).sum() / 22.0, rel=1e-4)
    assert found.freedom_of([0]) == pytest.approx(22.0, rel=0.01)
