import numpy as np
import pytest
from ray import to_circle

from coaxly.fitter import Fitter, Setup
from coaxly.fitter.reading.corrections import applied, readings


@pytest.mark.parametrize(
    ("angle", "factor", "shown", "true"),
    [(10, 0.98, 0.200, 0.196), (20, 0.94, 0.200, 0.188), (30, 0.87, 0.200, 0.174)],
)
def test_cosine_of_a_lever_indicator(angle, factor, shown, true):
    """Published factors and examples of lever-type indicators, after JIS B 7533, to their digits."""
    setup = Setup.from_header({"tip_angle_deg": angle})
    value = readings(setup, np.array([shown]))[0]
    # The published examples multiply by the rounded factor, so they agree to half of its last digit.
    assert value / shown == pytest.approx(factor, abs=0.005)
    assert value == pytest.approx(true, abs=0.005 * shown)


@pytest.mark.parametrize(("angle", "factor"), [(40, 0.77), (50, 0.64), (60, 0.50)])
def test_steep_cosines(angle, factor):
    """The same tables; the factor is the cosine itself, to two digits."""
    assert readings(Setup(tip_angle_deg=angle), np.array([1.0]))[0] == pytest.approx(factor, abs=0.005)


def test_calibration_is_piecewise_linear_and_level_beyond():
    setup = Setup.from_header({"calibration": [[0.0, 0.0], [1.0, 0.01], [2.0, -0.01]]})
    shown = np.array([-1.0, 0.0, 0.5, 1.0, 1.5, 3.0])
    assert readings(setup, shown) - shown == pytest.approx([0.0, 0.0, 0.005, 0.01, 0.0, -0.01])


def test_polarity_turns_the_reading_round():
    assert readings(Setup(polarity=-1), np.array([0.3]))[0] == -0.3


def test_each_correction_in_use_is_reported_with_its_size():
    setup = Setup(tip_angle_deg=30, sag_mm=0.05, bearing_clearance_mm=0.06, calibration=((0.0, 0.002),))
    sizes = applied(setup, 0.01)
    assert sizes == pytest.approx(
        {
            "tip_factor": 0.8660254,
            "sag_mm": 0.05,
            "bearing_shift_mm": 0.03,
            "calibration_mm": 0.002,
            "drift_mm": 0.01,
        }
    )
    assert applied(Setup(), None) == {}


def test_an_engine_on_end_has_neither_sag_nor_resting_crank():
    setup = Setup(crank="upright", sag_mm=0.05, bearing_clearance_mm=0.06)
    assert applied(setup, None) == {}


def swept_by_hand(deg, off, sag, rests, leans):
    """A rig on an engine that lies tilted, worked out in the car's own frame, where weight pulls straight down.

    The dial's body hangs `sag` below where a stiff arm would hold it, the crank `rests` below the middle of its
    bearings, from which the bore is `off`; `leans`: degrees clockwise by which the engine's 12 o'clock leans.
    Points are complex numbers, x + iy; the reading is how far in the plunger is.
    """
    turn = np.exp(-1j * np.deg2rad(leans))  # clockwise, from the engine's frame to the car's
    bore, radius = complex(*off) * turn, 150.0
    axis = -1j * rests
    shown = []
    for at in deg:
        towards = np.exp(1j * np.deg2rad(90.0 - at)) * turn  # where the arm points in the car
        body = axis + 100.0 * towards - 1j * sag
        off_body = (bore - body) * np.conj(turn)  # as the engine's own 12 o'clock counts
        shown.append(60.0 - to_circle((off_body.real, off_body.imag), at, radius))
    return np.array(shown)


@pytest.mark.parametrize("leans", [0.0, 4.5, -12.0, 30.0, 90.0, 180.0, -135.0])
def test_sag_and_a_resting_crank_follow_weight_and_not_the_engines_own_12_o_clock(leans):
    off, sag, clearance = (0.11, -0.07), 0.06, 0.09
    setup = Setup.from_header({"sag_mm": sag, "bearing_clearance_mm": clearance, "engine_tilt_deg": leans})
    fitter = Fitter(setup)
    deg = np.arange(8) * 45.0
    for at, shown in zip(deg, swept_by_hand(deg, off, sag, clearance / 2.0, leans), strict=True):
        fitter.add_station(at, np.array([shown]), np.array([at]))
    # To second order a circle is no cosine: e^2 / (4 R) here, a tenth of a micrometre.
    assert fitter.result().eccentricity.vector == pytest.approx(off, abs=2e-4)
    found = fitter.estimate()
    assert (found.x, found.y) == pytest.approx(off, abs=2e-4)
    blind = Fitter(Setup.from_header({"sag_mm": sag, "bearing_clearance_mm": clearance}))
    for at, shown in zip(deg, swept_by_hand(deg, off, sag, clearance / 2.0, leans), strict=True):
        blind.add_station(at, np.array([shown]), np.array([at]))
    missed = np.subtract(blind.result().eccentricity.vector, off)
    # By as much as weight's own vector turned: its length is sag and half of the clearance together.
    both = 2.0 * (sag + clearance / 2.0) * abs(np.sin(np.deg2rad(leans / 2.0)))
    assert np.hypot(*missed) == pytest.approx(both, abs=2e-4)


def test_the_budget_counts_sag_along_plumb_and_only_where_weight_pulls_across():
    def lines(**setup):
        alone = {"zero_sd_deg": 0.0, "hysteresis_mm": 0.0}  # what these do changes with the vector
        fitter = Fitter(Setup.from_header(alone | setup))
        for at in range(0, 360, 45):
            fitter.add_station(float(at), np.array([0.1 * np.cos(np.deg2rad(at))]), np.array([float(at)]))
        found = fitter.result()
        return {line.source for line in found.budget}, np.array(found.eccentricity.covariance)

    _, plain = lines(engine_tilt_deg=90.0)
    sources, tilted = lines(engine_tilt_deg=90.0, sag_mm=0.2)
    assert "rig sag" in sources
    assert tilted - plain == pytest.approx(np.diag([0.02**2, 0.0]), abs=1e-12)
    assert "rig sag" not in lines(crank="upright", sag_mm=0.2)[0]
