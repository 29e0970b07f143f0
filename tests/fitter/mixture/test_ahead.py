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
    monkeypatch.setattr(ahead, "_MOST", 10_000)
    monkeypatch.setattr(ahead, "_SHARE", 1.0 - 1e-12)
    longer = table([0.0, 90.0, 180.0, 270.0, *more])
    now, fresh = split(longer, 4)
    of = model(now)
    (left,) = Ahead(of).variance_left([longer], fresh, [np.arange(len(more))])
    before = float(of.weight @ np.trace(of.parts.covariance, axis1=1, axis2=2))
    assert left == pytest.approx(by_evidence(of, longer) / before, rel=1e-4)
    assert 0.0 < left < 1.0


def test_the_likeliest_parts_stand_for_all(monkeypatch):
    longer = table([*np.arange(0.0, 360.0, 45.0), 0.0])
    now, fresh = split(longer, 8)
    (few,) = Ahead(model(now)).variance_left([longer], fresh, [np.array([0])])
    monkeypatch.setattr(ahead, "_MOST", 10_000)
    monkeypatch.setattr(ahead, "_SHARE", 1.0 - 1e-9)
    (every,) = Ahead(model(now)).variance_left([longer], fresh, [np.array([0])])
    assert few == pytest.approx(every, abs=0.05)


def test_what_a_reading_shows_does_not_matter_but_where_it_is_taken_does():
    arc = [0.0, 30.0, 60.0, 90.0, 120.0, 150.0]
    longer = table([*arc, 75.0, 255.0])
    now, fresh = split(longer, len(arc))
    of, ways = model(now), [np.array([0]), np.array([1])]
    beside, opposite = Ahead(of).variance_left([longer], fresh, ways)
    assert opposite < 0.6 * beside
    other = longer.with_values(longer.value + np.where(fresh, 1.0, 0.0))
    assert Ahead(of).variance_left([other], fresh, ways) == pytest.approx([beside, opposite])


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
    (same,) = Ahead(of).variance_left([joined], fresh, [np.arange(12)])
    (new,) = Ahead(of).variance_left([first, again], fresh, [np.arange(12)])
    assert 0.0 < same < 1.0 and 0.0 < new < 1.0 and same != pytest.approx(new, rel=1e-3)
    (none,) = Ahead(of).variance_left([first, again], fresh, [np.array([], dtype=np.int64)])
    assert none == pytest.approx(1.0, rel=1e-9)


def test_the_parts_are_those_of_the_mixture():
    of = model(table(np.arange(0.0, 360.0, 45.0)))
    assert len(of.weight) == len(of.parts.node) == len(of.parts.vector)
    assert dataclasses.is_dataclass(of.columns) and of.weight.sum() == pytest.approx(1.0)
