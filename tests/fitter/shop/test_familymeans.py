"""The average of a family and its region: where theory knows them, they are so."""

import math

import numpy as np
import pytest

from coaxly.fitter.numeric.quantiles import plane_factor
from coaxly.fitter.shop.ledger import Found, family_mean, ledger


def jobs(seed, n=40):
    """Two families a unit apart in x; measuring is five times worse in y than in x, and all the scatter."""
    rng = np.random.default_rng(seed)
    for k in range(n):
        x, y = (rng.normal(size=2) * [0.2, 1.0] + [float(k % 2), 0.0]).tolist()
        yield Found("b", "", f"h{k % 2}", "", (x, y), ((0.04, 0.0), (0.0, 1.0)))


def test_the_average_is_that_of_the_familys_own_jobs_where_they_are_all_alike():
    found = list(jobs(1))
    told = ledger(found)
    family = told.families[2]
    average = family_mean(found, told, family)
    own = np.mean([job.vector for job in found if job.housing_family == family.name], axis=0)
    assert family.name == "h1" and average.vector == pytest.approx(own, abs=1e-6)


def test_the_region_is_long_where_measuring_is_poor():
    found = list(jobs(1))
    told = ledger(found)
    average = family_mean(found, told, told.families[1])
    wide, high = np.ptp(average.border(), axis=0) / 2.0
    # Twenty jobs: sd / sqrt(20), times what a plane's 95 % take (sqrt(5.99) for a scatter that is known).
    factor = plane_factor(0.95, told.families[1].freedom or math.inf) / math.sqrt(20.0)
    scatter = told.components[0].sd
    assert wide == pytest.approx(factor * math.hypot(0.2, scatter), rel=0.03)
    assert high == pytest.approx(factor * math.hypot(1.0, scatter), rel=0.03)
    assert average.border().mean(axis=0) == pytest.approx(average.vector, abs=1e-9)


def test_the_region_holds_the_truth_as_often_as_it_says():
    held = []
    for seed in range(60):
        found = list(jobs(seed, 24))
        told = ledger(found)
        average = family_mean(found, told, told.families[2])
        off = np.linalg.solve(np.array(average.region), np.array([1.0, 0.0]) - average.vector)
        held.append(float(off @ off) <= 1.0)
    assert 0.90 <= np.mean(held) <= 0.99
