import math
from itertools import combinations

import numpy as np
import pytest

from coaxly.fitter.dowels.pins import Pins
from coaxly.fitter.geometry import polar
from coaxly.fitter.shop.parallelstock import _SPREADS, Population, Stock, Work, to_keep
from coaxly.fitter.units import MM_PER_THOU

SIZES = [k * MM_PER_THOU for k in range(1, 21)]
FIVE = Population.scattered(5.0 * MM_PER_THOU)
LIMIT = 5.0 * MM_PER_THOU


def test_without_any_error_one_size_serves_a_ring():
    """e is Rayleigh; nothing helps up to half the limit, and a size the ring around it."""
    stock = Stock(FIVE, Work(LIMIT, setting_sd=1e-6), SIZES)
    best = stock.curve(1)[0]
    assert best.sizes[0] == pytest.approx(5.0 * MM_PER_THOU, abs=0.6 * MM_PER_THOU)
    assert best.inside == pytest.approx(1.0 - math.exp(-0.5 * 1.5**2), abs=0.01)


def test_the_path_through_the_sizes_is_the_best_of_all_pairs():
    stock = Stock(FIVE, Work(LIMIT, measuring_sd=0.3 * MM_PER_THOU), SIZES)
    best = max(stock.of(pair).inside for pair in combinations(SIZES, 2))
    assert stock.curve(2)[1].inside == pytest.approx(best, rel=1e-12)


def test_more_sizes_leave_more_engines_inside():
    curve = [choice.inside for choice in Stock(FIVE, Work(LIMIT, setting_sd=5.0), SIZES).curve(4)]
    assert curve == sorted(curve) and curve[0] < 0.7 and curve[-1] > 0.98


def test_dowels_that_stay_where_they_were_put_may_bind():
    pins = Pins((-140.0, -25.0), (140.0, -25.0))
    free, tight = (
        Stock(FIVE, Work(LIMIT, way=way, pins=pins), SIZES).curve(2)[1] for way in ("free", "tight")
    )
    assert tight.inside < free.inside - 0.04


@pytest.mark.parametrize(("way", "size_sd"), [("free", 0.0), ("tight", 0.0), ("tight", 0.3 * MM_PER_THOU)])
def test_a_simulation_of_rigid_housings_agrees(way, size_sd):
    pins = Pins((-140.0, 0.0), (140.0, 0.0))
    work = Work(LIMIT, setting_sd=5.0, size_sd=size_sd, way=way, pins=pins, clearance=MM_PER_THOU)
    stock = Stock(FIVE, work, SIZES)
    size = 6.0 * MM_PER_THOU
    rng = np.random.default_rng(1)
    e = rng.normal(size=(200_000, 2)) * 5.0 * MM_PER_THOU
    r, aim = np.hypot(*e.T), np.arctan2(e[:, 0], e[:, 1])
    d1, d2 = np.deg2rad(5.0) * rng.normal(size=(2, len(e)))
    s1, s2 = (
        (size + size_sd * rng.normal(size=(len(e), 1))) * np.column_stack([np.sin(aim + d), np.cos(aim + d)])
        for d in (d1, d2)
    )
    ends = np.hypot(*(e - (s1 + s2) / 2.0).T) <= LIMIT / 2.0
    goes = np.abs((s2 - s1)[:, 0]) <= MM_PER_THOU if way == "tight" else True
    none = r <= LIMIT / 2.0
    with_pair = (ends & goes).mean()
    row = stock._served[int(np.argmin(np.abs(stock.sizes - size)))]
    assert float(stock._weight @ row) == pytest.approx(with_pair, abs=0.01)
    assert float(stock._weight @ stock._served[0]) == pytest.approx(none.mean(), abs=0.005)


def test_a_scatter_judged_from_few_jobs_leaves_more_engines_far_out():
    sure, unsure = (
        Stock(Population(FIVE.mean, FIVE.covariance, freedom), Work(LIMIT), SIZES).curve(2)[1].inside
        for freedom in (math.inf, 4.0)
    )
    assert unsure < sure - 0.05
    stock = Stock(Population(FIVE.mean, FIVE.covariance, 6.0), Work(LIMIT), SIZES)
    # |v|^2 / 2 s^2 is of Fisher's distribution with 2 and 6 degrees, whose tail has a closed form.
    beyond = stock._weight[stock._radius > 10.0 * MM_PER_THOU].sum()
    assert beyond == pytest.approx((1.0 + 4.0 / 6.0) ** -3.0, abs=0.003)


@pytest.mark.parametrize(
    ("measuring", "size", "simulated"),
    [(0.0, 0.0, (0.672, 0.944, 0.992, 0.998)), (0.3, 0.3, (0.658, 0.901, 0.973, 0.991)),
     (0.5, 0.3, (0.640, 0.870, 0.949, 0.977))],
)  # fmt: skip
def test_the_curve_is_what_a_simulation_of_measuring_choosing_and_setting_gives(measuring, size, simulated):
    """Own simulation of a million engines for each set of sizes (scatter 5 thou, limit 5 thou, each dowel set
    to 5 degrees): measured with an error, given the size that is likeliest to serve what was measured, set
    towards it with dowels that miss their offset and their angle."""
    work = Work(LIMIT, 5.0, size_sd=size * MM_PER_THOU, measuring_sd=measuring * MM_PER_THOU)
    halves = [0.5 * k * MM_PER_THOU for k in range(1, 41)]
    curve = [choice.inside for choice in Stock(FIVE, work, halves).curve(4)]
    assert curve == pytest.approx(simulated, abs=0.003)


def test_a_choice_by_what_was_measured_is_judged_by_what_is():
    """The same simulated here, for one set of sizes and a measurement that is poor."""
    sizes, sd = (4.0, 8.0), 1.0
    work = Work(LIMIT, 5.0, measuring_sd=sd * MM_PER_THOU)
    stock = Stock(FIVE, work, [size * MM_PER_THOU for size in sizes])
    promised = stock.of([size * MM_PER_THOU for size in sizes]).inside
    rng = np.random.default_rng(1)
    true, slip = rng.normal(size=(2, 400_000, 2)) @ np.diag([1.0, 1.0]) * np.array([[[5.0]], [[sd]]])
    known = (true + slip) * 25.0 / (25.0 + sd**2)
    r = np.hypot(*known.T)
    turned = np.deg2rad(5.0) * rng.normal(size=(2, len(r)))
    ends = []
    for d in (0.0, *sizes):
        moved = d * np.exp(1j * turned).mean(axis=0)
        left = (true[:, 0] + 1j * true[:, 1]) - moved * (known[:, 0] + 1j * known[:, 1]) / r
        ends.append(np.abs(left) <= 2.5)
    # The best of the three in each ring of what was measured.
    ring = np.digitize(r, np.linspace(0.0, 25.0, 101))
    counts = np.array([np.bincount(ring, weights=each, minlength=102) for each in ends])
    assert promised == pytest.approx(counts.max(axis=0).sum() / len(r), abs=0.004)
    oracle = np.max(ends, axis=0).mean()
    assert promised < oracle - 0.02


def test_what_is_known_scatters_less_than_what_is():
    population = Population((1.0, 0.0), ((4.0, 1.0), (1.0, 9.0)))
    known, unsure = population.as_known(0.5)
    gone = np.array(population.covariance) - np.array(known.covariance)
    assert np.trace(gone) / 2.0 == pytest.approx(unsure**2)
    assert 0.9 * 0.5 < unsure < 0.5 and known.mean == population.mean
    assert population.as_known(0.0) == (population, 0.0)


def test_counts_last_the_month_at_the_risk_that_was_asked_for():
    choice = Stock(FIVE, Work(LIMIT), SIZES).curve(3)[2]
    kept = to_keep(choice, engines=20.0, risk=0.05)
    rng = np.random.default_rng(2)
    months = rng.poisson([k.monthly / 2.0 for k in kept], size=(50_000, 3))
    out = (months > np.array([k.dowels / 2 for k in kept])).any(axis=1).mean()
    assert 0.02 < out <= 0.05 + 0.003
    assert all(k.dowels % 2 == 0 for k in kept)


def test_what_cannot_be_asked_is_refused():
    stock = Stock(FIVE, Work(LIMIT), SIZES[:3])
    with pytest.raises(ValueError, match="3 sizes are offered"):
        stock.curve(4)
    with pytest.raises(ValueError, match="not among"):
        stock.of([1.0])
    with pytest.raises(ValueError, match="more than 0"):
        to_keep(stock.curve(1)[0], 0.0, 0.1)


def test_engines_that_are_off_by_just_a_size_are_helped_by_it():
    """All engines lie on one ring; a size of its very radius is better than one beside it."""
    # The grid over the population has 400 radii: so narrow a one has nearly all of its engines on one of them.
    at, share = 10.0 * MM_PER_THOU, 398.5 / 400.0
    sd = at * (1.0 / share - 1.0) / _SPREADS
    engines = Population(polar(at, 3.75), ((sd**2, 0.0), (0.0, sd**2)))
    beside = 12.0 * MM_PER_THOU
    probe = Stock(engines, Work(LIMIT), [beside])
    ring = float(probe._radius[int(probe._weight.argmax())])
    assert probe._weight.max() > 0.99
    assert Stock(engines, Work(LIMIT), [ring, beside]).curve(1)[0].sizes == (ring,)
