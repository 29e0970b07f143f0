import math

import numpy as np
import pytest

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.analysis import corrected
from coaxly.fitter.face import Mounting, squareness
from coaxly.fitter.geometry import polar
from coaxly.fitter.units import MM_PER_INCH as INCH
from coaxly.fitter.units import MM_PER_THOU as THOU


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
    exact = squareness(result, stations, 120.0, Mounting(bolts=bolts))
    want = [shim.wanted for shim in exact.shims]
    assert min(want) == 0.0
    # With exactly the wanted shims the plane through the bolts is the tilt, turned round.
    plane = np.linalg.lstsq(np.array([[1, *b] for b in bolts]), np.array(want), rcond=None)[0]
    assert plane[1:] == pytest.approx(-0.001 * np.array(polar(1.0, 70.0)))
    stock = squareness(result, stations, 120.0, Mounting(bolts=bolts, stock=[0.05, 0.1, 0.2]))
    common = np.mean([shim.thickness - shim.wanted for shim in stock.shims])
    for shim in stock.shims:
        assert abs(shim.thickness - shim.wanted - common) <= 0.05 and len(shim.stack) <= 3
    assert stock.left < 0.1 * result.tir.fitted


def left_by(stacks, tilt, radius, bolts):
    """TIR of the tilt that stacks leave, reckoned by least squares, one set at a time."""
    plane, *_ = np.linalg.lstsq(np.array([[1.0, *bolt] for bolt in bolts]), np.array(stacks), rcond=None)
    return 2.0 * radius * math.hypot(*(plane[1:] + tilt))


def test_a_common_shim_under_all_bolts_is_tried_too():
    """Against nearest stacks for every common thickness in steps of a tenth of a thou."""
    rng = np.random.default_rng(11)
    stock = [0.002 * INCH, 0.005 * INCH, 0.010 * INCH]
    sums = {0.0, *stock}
    for _ in range(2):
        sums |= {a + b for a in sums for b in stock}
    sums = np.array(sorted(sums))
    plain, common = [], []
    for _ in range(40):
        size, towards = rng.uniform(0.3, 1.0) * 1e-3, rng.uniform(0.0, 360.0)
        bolts = [polar(200.0, 60.0 * k + rng.uniform(-8.0, 8.0)) for k in range(6)]
        result, stations = sweep(tilted(size, towards, 150.0))
        found = squareness(result, stations, 150.0, Mounting(bolts=bolts, stock=stock))
        want, tilt = np.array([shim.wanted for shim in found.shims]), size * np.array(polar(1.0, towards))
        tried = [
            left_by(sums[np.abs(sums[:, None] - want - c).argmin(axis=0)], tilt, 150.0, bolts)
            for c in np.arange(0.0, 0.030 * INCH - want.max(), 0.1 * THOU)
        ]
        assert found.left == pytest.approx(left_by([s.thickness for s in found.shims], tilt, 150.0, bolts))
        assert found.left <= min(tried) + 0.1 * THOU + 1e-9
        plain.append(tried[0])
        common.append(found.left)
    assert np.median(common) < 0.6 * np.median(plain)


def test_a_common_shim_that_gains_nothing_is_left_out():
    result, stations = sweep(tilted(0.001, 90.0, 120.0, n=4))
    bolts = [polar(120.0, 90.0 * k) for k in range(4)]
    found = squareness(result, stations, 120.0, Mounting(bolts=bolts, stock=[0.06, 0.12]))
    assert [round(shim.thickness, 9) for shim in found.shims] == [0.12, 0.0, 0.12, 0.24]


def test_shimming_carries_the_bore_towards_the_high_point():
    result, stations = sweep(tilted(0.001, 90.0, 120.0))
    found = squareness(result, stations, 120.0, Mounting(depth=150.0))
    assert found.shift == pytest.approx((0.15, 0.0), abs=1e-12)


class Housing:
    """A rigid housing whose joint with the block lies in the plane z = 0 (z rearward, x to the right and
    y up seen from behind): turned a little about an axis in the joint, and then carried sideways."""

    def __init__(self, tilt, towards, aside, depth, radius):
        """tilt: radians, the face's side `towards` degrees comes rearward. depth: of face and bore."""
        cx, cy = math.cos(math.radians(towards)), -math.sin(math.radians(towards))
        K = np.array([[0.0, 0.0, cy], [0.0, 0.0, -cx], [-cy, cx, 0.0]])
        self.turn = np.eye(3) + math.sin(tilt) * K + (1.0 - math.cos(tilt)) * K @ K
        self.aside, self.depth, self.radius = np.array([*aside, 0.0]), depth, radius

    def place(self, point):
        """Where a point of the straight housing has gone."""
        return self.turn @ np.array(point) + self.aside

    @property
    def bore(self):
        """The bore's centre as a dial would find it, (x, y)."""
        return tuple(self.place((0.0, 0.0, self.depth))[:2])

    def readings(self, n=8):
        """A dial behind the face, at the radius: high where the face comes rearward."""
        normal, on = self.turn @ np.array([0.0, 0.0, 1.0]), self.place((0.0, 0.0, self.depth))
        found = []
        for k in range(n):
            x, y = polar(self.radius, 360.0 / n * k)
            found.append(on[2] - (normal[0] * (x - on[0]) + normal[1] * (y - on[1])) / normal[2])
        return found

    def misses(self, pilot):
        """Distance of the gearbox's axis from the crank's, `pilot` in front of the face."""
        axis, on = self.turn @ np.array([0.0, 0.0, 1.0]), self.place((0.0, 0.0, self.depth))
        at = on - axis * (on[2] - (self.depth - pilot)) / axis[2]
        return math.hypot(at[0], at[1])


@pytest.mark.parametrize(("towards", "aside"), [
    (90.0, (0.0, 0.0)), (90.0, (0.4, 0.0)), (0.0, (0.1, -0.2)), (215.0, (-0.15, 0.05)), (310.0, (0.3, 0.3)),
])  # fmt: skip
@pytest.mark.parametrize("pilot", [60.0, 200.0, 260.0])
def test_what_bore_and_face_do_together_at_the_pilot(towards, aside, pilot):
    housing = Housing(0.001, towards, aside, depth=200.0, radius=120.0)
    result, stations = sweep(housing.readings())
    found = squareness(result, stations, 120.0, Mounting(depth=200.0, pilot=pilot, bore=housing.bore))
    assert found.at_pilot == pytest.approx(housing.misses(pilot), abs=2e-6)
    assert found.shaft_deg == pytest.approx(math.degrees(housing.misses(pilot) / pilot), rel=1e-3, abs=1e-5)
    straight = Housing(0.0, towards, aside, depth=200.0, radius=120.0)
    assert np.add(housing.bore, found.shift) == pytest.approx(np.array(straight.bore), abs=2e-6)


def test_a_pure_tilt_about_the_joint_meets_the_crank_in_the_joint():
    housing = Housing(0.001, 90.0, (0.0, 0.0), depth=200.0, radius=120.0)
    assert housing.bore == pytest.approx((-0.2, 0.0), abs=1e-6)
    result, stations = sweep(housing.readings())
    met = squareness(result, stations, 120.0, Mounting(pilot=200.0, bore=(-0.2, 0.0)))
    assert met.at_pilot == pytest.approx(0.0, abs=1e-6)
    missed = squareness(result, stations, 120.0, Mounting(pilot=200.0, bore=(0.2, 0.0)))
    assert missed.at_pilot == pytest.approx(0.4, abs=1e-6)


def test_without_a_radius_there_is_no_tilt_but_still_shims():
    result, stations = sweep(tilted(0.001, 70.0, 120.0))
    found = squareness(result, stations, None)
    assert found.tilt is None and found.shift is None and len(found.shims) == 8
