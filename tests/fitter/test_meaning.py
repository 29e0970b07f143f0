"""Which way is high, and which way things move: a body is moved, and everybody must agree about it."""

import math

import numpy as np
import pytest

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.geometry import difference, unit

TIGHT = [0.0, 50.0, 95.0, 140.0, 181.0, 226.0, 275.0, 318.0]


def swept(feature: str, surface: str, towards: float, size: float = 0.3) -> Fitter:
    """A dial on the crank, at each station, sees the wall or face come and go. size: of E, or radius times
    tilt. Readings rise when the plunger is pushed in."""
    fitter = Fitter(Setup.from_header({"surface": surface}, feature))
    ex, ey = (size * part for part in unit(towards))
    for k, deg in enumerate(TIGHT):
        ux, uy = unit(deg)
        if feature == "face":
            # The face's plane stands nearer to the dial by (tilt . position).
            reading = ex * ux + ey * uy
        else:
            # The wall towards u stands R + E.u from the axis: a dial inside is pushed less by a far wall,
            # one that hangs outside and points inwards is pushed more by it.
            wall = 100.0 + ex * ux + ey * uy
            reading = 100.0 - wall if surface == "inside" else wall - 100.0
        fitter.add_station(deg, np.array([reading]), np.array([float(k)]))
    return fitter


@pytest.mark.parametrize("towards", [0.0, 37.0, 90.0, 200.0, 271.0])
@pytest.mark.parametrize(
    ("feature", "surface", "high", "move"),
    [
        ("bore", "inside", 180.0, 180.0),
        ("bore", "outside", 0.0, 180.0),
        ("face", "inside", 0.0, 0.0),
        ("face", "outside", 0.0, 0.0),
    ],
)
def test_stream_and_result_agree_about_high_and_about_the_way_to_move(feature, surface, high, move, towards):
    fitter = swept(feature, surface, towards)
    estimate, result = fitter.estimate(), fitter.result()
    assert estimate.feature == result.feature == feature
    assert (estimate.x, estimate.y) == pytest.approx(result.eccentricity.vector, abs=1e-12)
    assert math.dist((estimate.x, estimate.y), np.multiply(0.3, unit(towards))) < 1e-9
    for said in (estimate, result.eccentricity):
        assert difference(said.high_deg, towards + high) == pytest.approx(0.0, abs=1e-6)
        assert difference(said.move_deg, towards + move) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("feature", ["bore", "face"])
def test_the_high_point_is_where_the_dial_stands_highest(feature):
    fitter = swept(feature, "inside", 95.0)
    stations = fitter.stations()
    top = float(stations.deg[np.argmax(stations.value)])
    assert abs(difference(fitter.estimate().high_deg, top)) < 45.0
