"""Bore, face and register at the pilot bearing, against a gearbox that is set down in space."""

import dataclasses

import numpy as np
import pytest
from chances import keeps

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.pilot import at_pilot
from coaxly.fitter.units import MM_PER_THOU as THOU

pytestmark = pytest.mark.usefixtures("fit_alone")
DEG = np.arange(9) * 45.0 % 360.0
RADIUS, PILOT = 150.0, 180.0


def swept(feature, shown, **setup):
    fitter = Fitter(Setup.from_header({"closing": True, **setup}, feature))
    for k, (at, value) in enumerate(zip(DEG, shown, strict=True)):
        fitter.add_station(at, np.array([value]), np.array([5.0 * k]))
    return fitter.result().eccentricity


def housing(centre, tilt):
    """What a dial on the crank reads in the bore and on the face of a housing that stands so."""
    u = np.array([np.sin(np.deg2rad(DEG)), np.cos(np.deg2rad(DEG))])
    return -np.array(centre) @ u, RADIUS * np.array(tilt) @ u


def gearbox_axis(centre, tilt, ahead):
    """Where the axis of a gearbox bolted to that face passes a plane so far ahead of it: a line in space through
    the bore's centre along the face's normal. z runs rearward, the face is the plane z = tilt . (x, y)."""
    normal = np.array([-tilt[0], -tilt[1], 1.0])
    start = np.array([*centre, 0.0])
    at = start + normal * (-ahead / normal[2])
    return at[:2]


@pytest.mark.parametrize("tilt", [(4e-4, 0.0), (0.0, -3e-4), (-2e-4, 5e-4)])
def test_it_is_where_the_gearboxs_axis_passes(tilt):
    centre = (0.06, -0.09)
    bore, face = (
        swept(feature, shown) for feature, shown in zip(("bore", "face"), housing(centre, tilt), strict=True)
    )
    found = at_pilot(bore, face, RADIUS, PILOT)
    assert found.vector == pytest.approx(gearbox_axis(centre, tilt, PILOT), abs=1e-7)
    assert found.amount == pytest.approx(np.hypot(*found.vector))
    assert np.tan(np.deg2rad(found.shaft_deg)) == pytest.approx(found.amount / PILOT)


def test_play_adds_to_every_side_and_is_in_the_budget():
    bore, face = (
        swept(f, shown) for f, shown in zip(("bore", "face"), housing((0.05, 0.0), (0.0, 0.0)), strict=True)
    )
    tight, loose = (
        at_pilot(bore, face, RADIUS, PILOT),
        at_pilot(bore, face, RADIUS, PILOT, play=0.1),
    )
    assert loose.vector == tight.vector and loose.play == 0.05
    lines = {line.source: line.value for line in loose.budget}
    assert lines["play of the register"] == pytest.approx(0.05 / np.sqrt(2.0))
    assert lines["face"] == pytest.approx(PILOT / RADIUS * np.sqrt(np.trace(face.covariance) / 2.0))
    assert lines["bore"] == pytest.approx(np.sqrt(np.trace(bore.covariance) / 2.0))
    assert loose.u95 > 1.9 * lines["play of the register"] > tight.u95


def test_its_error_bar_holds_the_shaft_of_a_gearbox_with_play():
    rng = np.random.default_rng(8)

    def held():
        centre, tilt = rng.normal(0.0, 4.0 * THOU, 2), rng.normal(0.0, 3e-5, 2)
        noise = rng.normal(0.0, 0.3 * THOU, (2, len(DEG)))
        readings = housing(centre, tilt)
        bore, face = (
            swept(f, shown + n) for f, shown, n in zip(("bore", "face"), readings, noise, strict=True)
        )
        found = at_pilot(bore, face, RADIUS, PILOT, play=3.0 * THOU)
        lies = rng.uniform(0.0, 2.0 * np.pi)
        true = gearbox_axis(centre, tilt, PILOT) + 1.5 * THOU * np.array([np.cos(lies), np.sin(lies)])
        return abs(np.hypot(*true) - found.amount) <= found.u95

    assert keeps(iter(held, None))


def test_a_face_with_few_stations_to_spare_makes_the_whole_less_sure():
    bore, face = (
        swept(f, shown) for f, shown in zip(("bore", "face"), housing((0.05, 0.0), (1e-4, 0.0)), strict=True)
    )
    loud = ((4e-4, 0.0), (0.0, 4e-4))
    few, many = (dataclasses.replace(face, covariance=loud, freedom=n) for n in (2.0, None))
    lie = (RADIUS, PILOT)
    assert at_pilot(bore, few, *lie).u95 > 1.5 * at_pilot(bore, many, *lie).u95
