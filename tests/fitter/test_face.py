import math

import numpy as np
import pytest

from fitter import Fitter, Setup
from fitter.analysis import corrected
from fitter.face import squareness
from fitter.geometry import polar

THOU, INCH = 0.0254, 25.4


def sweep(values, angles=None, **setup):
    fitter = Fitter(Setup.from_header({"limit_mm": 10 * THOU, **setup}, "face"))
    for k, value in enumerate(values):
        deg = 360.0 / len(values) * k if angles is None else angles[k]
        fitter.add_station(deg, np.array([value]), np.array([float(k)]))
    return fitter.result(), corrected(fitter.setup, fitter.stations())


def test_published_shims():
    """2002 Dodge Dakota service manual, clutch housing face runout: lowest -.004, highest +.009: .013,
    limit .010; shims .009 at the 0.000 corner, .012 at -.003, .013 at -.004."""
    result, stations = sweep([0.0, -0.003 * INCH, -0.004 * INCH, 0.009 * INCH])
    found = squareness(result, stations, None)
    assert result.tir.swept == pytest.approx(0.013 * INCH)
    assert [shim.wanted / INCH for shim in found.shims] == pytest.approx([0.009, 0.012, 0.013, 0.0])


def tilted(tilt, towards, radius, n=8):
    return [radius * tilt * math.cos(math.radians(360 / n * k - towards)) for k in range(n)]


def test_tilt_is_the_run_out_over_the_circle_swept():
    result, stations = sweep(tilted(0.001, 70.0, 120.0))
    found = squareness(result, stations, 120.0)
    assert found.tilt == pytest.approx(0.001)
    assert found.per_100 == pytest.approx(0.1)
    assert found.high_deg == pytest.approx(70.0) and found.high_clock == "2:20"
    assert result.tir.fitted == pytest.approx(2 * 0.001 * 120.0)


def test_shims_of_bolts_make_the_face_square():
    result, stations = sweep(tilted(0.001, 70.0, 120.0))
    bolts = [polar(210.0, 60.0 * k) for k in range(6)]
    exact = squareness(result, stations, 120.0, bolts=bolts)
    want = [shim.wanted for shim in exact.shims]
    assert min(want) == 0.0
    # With exactly the wanted shims the plane through the bolts is the tilt, turned round.
    plane = np.linalg.lstsq(np.array([[1, *b] for b in bolts]), np.array(want), rcond=None)[0]
    assert plane[1:] == pytest.approx(-0.001 * np.array(polar(1.0, 70.0)))
    stock = squareness(result, stations, 120.0, bolts=bolts, stock=[0.05, 0.1, 0.2])
    for shim in stock.shims:
        assert abs(shim.thickness - shim.wanted) <= 0.026 and len(shim.stack) <= 3
    assert stock.left < 0.25 * result.tir.fitted


def test_shimming_carries_the_bore_towards_the_high_point():
    result, stations = sweep(tilted(0.001, 90.0, 120.0))
    found = squareness(result, stations, 120.0, depth=150.0)
    assert found.shift == pytest.approx((0.15, 0.0), abs=1e-12)


def test_what_bore_and_face_do_together_at_the_pilot():
    result, stations = sweep(tilted(0.001, 90.0, 120.0))
    helping = squareness(result, stations, 120.0, pilot=200.0, bore=(0.2, 0.0))
    assert helping.at_pilot == pytest.approx(0.0, abs=1e-12)
    worse = squareness(result, stations, 120.0, pilot=200.0, bore=(-0.2, 0.0))
    assert worse.at_pilot == pytest.approx(0.4)
    assert worse.shaft_deg == pytest.approx(math.degrees(0.002), rel=1e-4)


def test_without_a_radius_there_is_no_tilt_but_still_shims():
    result, stations = sweep(tilted(0.001, 70.0, 120.0))
    found = squareness(result, stations, None)
    assert found.tilt is None and found.shift is None and len(found.shims) == 8
