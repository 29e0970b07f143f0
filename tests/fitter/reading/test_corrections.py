import numpy as np
import pytest

from fitter import Setup
from fitter.reading.corrections import applied, readings


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
