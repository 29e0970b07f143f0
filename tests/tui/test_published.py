"""Published examples of this very job, as recordings through the main path."""

import pytest
from remarking import kinds

from coaxly.fitter.dowels.kit import Kit
from coaxly.fitter.dowels.limits import Limit
from coaxly.fitter.dowels.plan import Workshop, plan
from coaxly.fitter.units import MM_PER_THOU as THOU
from coaxly.fitter.units import from_mm
from coaxly.job.recorded.pipeline import judged_by, replay
from coaxly.job.steps.choosing import measured_by

pytestmark = pytest.mark.arithmetic

EIGHT = [0, 0.002, 0.004, -0.001, -0.007, -0.010, -0.005, 0.001]


def options_for(pipeline, result, kit, limit=None):
    if limit is not None:
        result = judged_by(pipeline, Limit(limit, ""))
    return plan(measured_by(pipeline, result), Workshop(Kit.of(kit)))


def inch(mm):
    return from_mm(mm, "in")


def test_eight_point_bore(recording):
    """2002 Dodge Dakota service manual, Clutch, clutch housing bore runout, p. 6-8 to 6-9: TIR (the
    largest opposing difference) .012, offset .006, dowel to fit .007, goal less than .010.
    The harmonic values are our own arithmetic on the same readings."""
    pipeline = replay(recording(EIGHT))
    result = pipeline.result()
    assert inch(result.tir.opposed) == pytest.approx(0.012)
    assert inch(result.tir.opposed) / 2 == pytest.approx(0.006)
    assert inch(result.tir.swept) == pytest.approx(0.014)
    assert inch(result.eccentricity.amount) == pytest.approx(0.0058303, abs=5e-8)
    assert inch(result.tir.fitted) == pytest.approx(0.01166, abs=1e-6)
    assert result.eccentricity.high_deg == pytest.approx(43.56, abs=0.005)
    a1, b1 = -result.eccentricity.vector[1], -result.eccentricity.vector[0]
    assert (inch(a1), inch(b1)) == pytest.approx((0.0042249, 0.0040178), abs=5e-8)
    assert result.decision.state == "outside"
    options = options_for(pipeline, result, [7 * THOU, 14 * THOU, 21 * THOU], limit=10 * THOU)
    assert options[0].pair == "parallel"
    assert options[0].dowels[0].offset == pytest.approx(7 * THOU)
    assert options[0].dowels[0].clock == "1:27"
    assert inch(options[0].predicted.tir_fitted) < 0.010


@pytest.mark.parametrize("pair", range(4))
def test_opposing_differences(recording, pair):
    """The same page: opposing differences .007, .012, .009, -.002."""
    published = [0.007, 0.012, 0.009, -0.002][pair]
    assert EIGHT[pair] - EIGHT[pair + 4] == pytest.approx(published)
    zeroed = [
        v if k in (pair, pair + 4) else (EIGHT[pair] + EIGHT[pair + 4]) / 2 for k, v in enumerate(EIGHT)
    ]
    assert inch(replay(recording(zeroed)).result().tir.opposed) == pytest.approx(abs(published))


def test_face_readings(recording):
    """The same manual, clutch housing face runout: lowest -.004, highest +.009, so .013 in all."""
    result = replay(recording([0.000, 0.009, -0.003, -0.004], feature="face")).result()
    assert inch(result.tir.swept) == pytest.approx(0.013)


def test_four_points_that_are_form_and_not_offset(recording):
    """US Army TM 10-3930-664-24 p. 3-41 (also TM 55-1905-223-24-1 p. 3-95): 12: 0, 3: +.003,
    6: -.002, 9: +.003, TIR .005. The first harmonic is .001 and the rest form, so no dowel helps."""
    pipeline = replay(
        recording([0, 0.003, -0.002, 0.003, 0.0], [0, 90, 180, 270, 0], setup={"closing": True})
    )
    result = pipeline.result()
    assert inch(result.tir.swept) == pytest.approx(0.005)
    assert inch(result.eccentricity.amount) == pytest.approx(0.001)
    assert inch(result.checks.cross) == pytest.approx(-0.008)
    assert result.checks.closure == pytest.approx(0.0, abs=1e-12)  # "return to 12, must read zero"
    options = options_for(pipeline, result, [3 * THOU, 5 * THOU, 7 * THOU])
    assert options[0].pair == "none"
    assert "form" in kinds(result)


@pytest.mark.parametrize(
    ("size", "limit"), [("00", 0.012), ("0", 0.010), ("1/2", 0.010), ("1", 0.008), ("2", 0.008), ("3", 0.008)]
)
def test_limits_by_housing_size_move_by_half_of_the_reading(recording, size, limit):
    """TM 10-4320-307-24 p. 3-140 (1: an engine maker's N14 manual): TIR limits by SAE housing size,
    and "move the housing horizontally by half of the total reading"."""
    tir = limit + 0.004
    result = replay(
        recording([0, tir / 2, 0, -tir / 2], [0, 90, 180, 270], setup={"limit_mm": limit * 25.4})
    ).result()
    assert inch(result.decision.limit) == pytest.approx(limit)
    assert inch(result.tir.swept) == pytest.approx(tir)
    assert inch(result.eccentricity.amount) == pytest.approx(tir / 2)
    assert result.eccentricity.move_clock == "3:00"


def test_common_practice(recording):
    """TIR .011 and a .004 pair leave .003 (common practice, no source); window +-24.62 deg."""
    pipeline = replay(recording([0.0055, 0, -0.0055, 0, 0.0055, 0, -0.0055, 0], [0, 90, 180, 270] * 2))
    result = pipeline.result()
    option = next(o for o in options_for(pipeline, result, [4 * THOU]) if o.pair == "parallel")
    assert inch(option.predicted.tir_fitted) == pytest.approx(0.003)
    assert option.window_deg == pytest.approx(24.62, abs=0.005)


def test_main_bearing_clearance(recording):
    """TM 9-4940-568-34 p. 5-62: 6 o'clock 0, 9: .004, 12: .003, 3: -.002, lift of the crank .002;
    total horizontal .006, total vertical .005."""
    path = recording(
        [0, 0.004, 0.003, -0.002], [180, 270, 0, 90], setup={"bearing_clearance_mm": 0.002 * 25.4}
    )
    x, y = replay(path).result().eccentricity.vector
    assert inch(2 * x) == pytest.approx(0.006)
    assert inch(-2 * y) == pytest.approx(0.005)


def test_rig_sag(recording):
    """Pump alignment handbook, worked example on an outside surface: bar sag 3 mils; top 0, sides
    +5, bottom +10 read; corrected bottom +16, sides +8."""
    path = recording(
        [0, 0.005, 0.010, 0.005], [0, 90, 180, 270], setup={"surface": "outside", "sag_mm": 0.003 * 25.4}
    )
    pipeline = replay(path)
    from coaxly.fitter.analysis import corrected

    top, right, bottom, left = corrected(pipeline.setup, pipeline.fitter.stations()).value
    assert inch(bottom - top) == pytest.approx(0.016)
    assert inch(right - top) == pytest.approx(0.008)
    assert inch(left - top) == pytest.approx(0.008)


def test_cosine_through_the_main_path(recording):
    """Catalogue tables after JIS B 7533: .200 mm at 30 degrees is .174 mm (factor .87)."""
    result = replay(recording([0.2, 0, 0, 0.2], unit="mm", setup={"tip_angle_deg": 30})).result()
    assert result.tir.swept == pytest.approx(0.174, abs=0.001)
    assert result.corrections["tip_factor"] == pytest.approx(0.87, abs=0.005)


def test_the_same_readings_in_either_unit(recording):
    """1 in = 25.4 mm exactly (1959)."""
    inches = replay(recording(EIGHT)).result()
    metric = replay(recording([v * 25.4 for v in EIGHT], unit="mm")).result()
    assert metric.eccentricity.vector == pytest.approx(inches.eccentricity.vector, rel=1e-6)


def test_largest_error_goes_first_in_the_plan(recording):
    """The probability decides; a plan that leaves more is never ahead of one that leaves less with it."""
    pipeline = replay(recording(EIGHT))
    result = pipeline.result()
    options = options_for(pipeline, result, [k * THOU for k in range(3, 15)], limit=10 * THOU)
    probabilities = [round(option.probability, 3) for option in options]
    assert probabilities == sorted(probabilities, reverse=True)
