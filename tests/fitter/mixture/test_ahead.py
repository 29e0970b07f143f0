"""What further readings would tell is what the model says once they are read, at each of its nodes."""

import dataclasses

import numpy as np
import pytest

from coaxly.fitter.mixture import ahead
from coaxly.fitter.mixture.ahead import Ahead
from coaxly.fitter.mixture.answer import mixture
from coaxly.fitter.mixture.evidence import evidence
from coaxly.fitter.mixture.layout import layout
from coaxly.fitter.mixture.views import Known
from coaxly.fitter.reading.stations import COLUMNS, EnteredStations, Stations
from coaxly.fitter.units import MM_PER_THOU as THOU


def table(deg, seed=3, offset=4 * THOU, pace=4.0, **faults):
    """Stations of a bore that is off by `offset` upwards, with a little scatter. faults: by row, mm more."""
    stations, dice = EnteredStations(), np.random.default_rng(seed)
    for k, at in enumerate(deg):
        value = -offset * np.cos(np.deg2rad(at)) + dice.normal(0.0, 0.2 * THOU) + faults.get(f"at{k}", 0.0)
        stations.add(at, np.array([value]), np.array([pace * k]))
    return stations.table()


def model(*sweeps):
    known = np.full(sum(map(len, sweeps)), (0.05 * THOU) ** 2 / 12.0)
    none = np.zeros((len(known), 0))
    return mixture(sweeps, Known(resolution=known, by_angle=0.0 * known, told=none, late=none))


def split(longer, n):
    """The first n rows of a table, and which of the rows are further ones."""
    return longer.take(slice(0, n)), np.arange(len(longer)) >= n


def by_evidence(of, longer):
    """The variance that the model's own equation leaves of the vector, were the nodes as likely as now."""
    columns = layout([longer])
    form = np.column_stack([columns.oval, columns.form, columns.drift, columns.sense])
    known = np.full(len(longer), float(of.known.resolution.mean()))
    seen = evidence(columns.flat, form, np.zeros((len(longer), 0)), longer.value, of.grid, known)
    traces = np.trace(seen.covariance, axis1=1, axis2=2)
    return float(of.weight @ traces[of.parts.node])


@pytest.mark.parametrize(
    "more", [[180.0], [0.0], [100.0, 190.0, 280.0, 10.0]], ids=["one", "closing", "turn"]
)
def test_the_variance_that_is_left_is_that_of_the_model_with_the_readings_in_it(monkeypatch, more):
    """Four stations accuse nobody, so that every part is a node."""
    monkeypatch.setattr(ahead, "_LIKE", 1e-7)
    longer = table([0.0, 90.0, 180.0, 270.0, *more])
    now, fresh = split(longer, 4)
    of = model(now)
    (then,) = Ahead(of).after([longer], fresh, np.arange(len(more))[None])
    left = float(then.weight @ np.trace(then.covariance, axis1=1, axis2=2))
    assert left == pytest.approx(by_evidence(of, longer), rel=1e-3)
    assert 0.0 < then.share < 1.0


def test_some_parts_stand_for_all(monkeypatch):
    longer = table([*np.arange(0.0, 360.0, 45.0), 0.0])
    now, fresh = split(longer, 8)
    (few,) = Ahead(model(now)).after([longer], fresh, np.array([[0]]))
    monkeypatch.setattr(ahead, "_LIKE", 0.02)
    (every,) = Ahead(model(now)).after([longer], fresh, np.array([[0]]))
    assert few.share == pytest.approx(every.share, abs=0.05)
    up = np.array([1.0, 0.0])
    assert few.half_width(up, 0.0) == pytest.approx(every.half_width(up, 0.0), rel=0.1)


def test_parts_that_expect_the_same_are_not_told_apart_and_those_that_do_not_are():
    weight, same = np.array([0.2, 0.8]), np.tile(np.eye(3), (2, 1, 1))
    assert ahead._told_apart(weight, np.ones((2, 3)), same) == pytest.approx(np.tile(weight, (2, 1)))
    far = np.array([[0.0, 0.0, 0.0], [9.0, 0.0, 0.0]])
    assert ahead._told_apart(weight, far, same) == pytest.approx(np.eye(2), abs=1e-6)
    louder = np.stack([np.eye(3), 100.0 * np.eye(3)])
    assert np.diag(ahead._told_apart(weight, np.ones((2, 3)), louder)).min() > 0.9


def test_a_half_width_is_that_of_the_parts_that_are_left():
    unit = np.tile(np.eye(2), (2, 1, 1)) * np.array([1.0, 16.0])[:, None, None]
    told = ahead.Then(np.array([0.5, 0.5]), np.eye(2), unit, unit)
    assert told.half_width(np.array([0.0, 1.0]), 0.0) == pytest.approx(1.96 * 2.0, rel=0.01)
    assert told.half_width(np.array([0.0, 1.0]), 9.0) == pytest.approx(1.96 * (10.0 * 25.0) ** 0.25, rel=0.01)


def test_what_a_reading_shows_does_not_matter_but_where_it_is_taken_does():
    arc = [0.0, 30.0, 60.0, 90.0, 120.0, 150.0]
    longer = table([*arc, 75.0, 255.0])
    now, fresh = split(longer, len(arc))
    of, ways = model(now), np.array([[0], [1]])
    beside, opposite = (then.share for then in Ahead(of).after([longer], fresh, ways))
    assert opposite < 0.6 * beside
    other = longer.with_values(longer.value + np.where(fresh, 1.0, 0.0))
    again = [then.share for then in Ahead(of).after([other], fresh, ways)]
    assert again == pytest.approx([beside, opposite])


def test_a_knock_that_is_believed_is_a_column_of_the_sweep_that_it_was_in():
    """Readings after a knock tell how large it was; those of another sweep know nothing of it."""
    twelve = np.arange(0.0, 360.0, 30.0)
    first = table(twelve, **{f"at{k}": 5 * THOU for k in range(7, 12)})
    of = model(first)
    assert [one.knock for one, _ in of.named] == [True]
    again = table(twelve, seed=4)
    joined = Stations(
        **{name: np.concatenate([getattr(each, name) for each in (first, again)]) for name in COLUMNS}
    )
    fresh = np.arange(24) >= 12
    (same,) = (then.share for then in Ahead(of).after([joined], fresh, np.arange(12)[None]))
    (new,) = (then.share for then in Ahead(of).after([first, again], fresh, np.arange(12)[None]))
    assert 0.0 < same < 1.0 and 0.0 < new < 1.0 and same != pytest.approx(new, rel=1e-5)
    (none,) = (
        then.share for then in Ahead(of).after([first, again], fresh, np.zeros((1, 0), dtype=np.int64))
    )
    assert none == pytest.approx(1.0, rel=1e-9)


def test_the_parts_are_those_of_the_mixture():
    of = model(table(np.arange(0.0, 360.0, 45.0)))
    assert len(of.weight) == len(of.parts.node) == len(of.parts.vector)
    assert dataclasses.is_dataclass(of.columns) and of.weight.sum() == pytest.approx(1.0)
