import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from remarking import facts

from coaxly.fitter import Fitter, Setup, TooFewStations
from coaxly.fitter.geometry import difference

CENTRE = (0.06, -0.11)


def bore(deg, centre=CENTRE, mean=1.0):
    rad = math.radians(deg)
    return mean - centre[0] * math.sin(rad) - centre[1] * math.cos(rad)


def fitter_of(angles, values, **setup):
    fitter = Fitter(Setup.from_header(setup))
    for k, (deg, value) in enumerate(zip(angles, values, strict=True)):
        fitter.add_station(deg, np.array([value]), np.array([float(k)]))
    return fitter


def test_the_vector_is_the_bore_centre_and_the_housing_moves_against_it():
    angles = range(0, 360, 45)
    result = fitter_of(angles, [bore(a) for a in angles]).result()
    ecc = result.eccentricity
    assert ecc.vector == pytest.approx(CENTRE, abs=1e-12)
    assert ecc.move_deg == pytest.approx(math.degrees(math.atan2(-CENTRE[0], -CENTRE[1])) % 360)
    assert ecc.high_deg == ecc.move_deg
    assert result.tir.fitted == pytest.approx(2 * math.hypot(*CENTRE))


@pytest.mark.usefixtures("fit_alone")
def test_noise_adds_less_to_the_swing_of_a_dial_where_the_bores_form_has_few_crests():
    """An oval of .8 thou has two crests and two hollows to be made higher and deeper by noise, and a round bore on
    the crank as many as there are stations: known by drawing both many times."""
    thou, sd = 0.0254, 0.1 * 0.0254
    angles, rng = np.arange(24) * 15.0, np.random.default_rng(3)

    def excess(oval):
        surface = 1.0 + oval * np.cos(np.deg2rad(2.0 * angles))
        found = [
            fitter_of(angles, surface + rng.normal(0.0, sd, 24)).result().tir.swept_excess for _ in range(12)
        ]
        drawn = surface + rng.normal(0.0, sd, (20_000, 24))
        return np.mean(found), float(np.ptp(drawn, axis=1).mean() - np.ptp(surface))

    for found, true in (excess(0.8 * thou), excess(0.0)):
        assert found == pytest.approx(true, rel=0.35)


def test_an_outside_surface_reads_high_where_the_bore_reads_low():
    angles = range(0, 360, 45)
    values = [2.0 - bore(a) for a in angles]
    ecc = fitter_of(angles, values, surface="outside").result().eccentricity
    assert ecc.vector == pytest.approx(CENTRE, abs=1e-12)
    assert abs(difference(ecc.high_deg, ecc.move_deg)) == pytest.approx(180.0)


@given(
    st.permutations(range(8)),
    st.integers(0, 7),
    st.sampled_from(["rear", "front"]),
    st.sampled_from(["cw", "ccw"]),
    st.floats(-180, 180),
)
def test_order_start_view_and_sense_do_not_matter(order, start, view, sense, zero):
    setup = Setup(view=view, sense=sense, zero_deg=zero)
    internal = [45.0 * ((k + start) % 8) for k in order]
    entered = [setup.angle_sign * (deg - zero) for deg in internal]
    fitter = fitter_of(entered, [bore(deg) for deg in internal], view=view, sense=sense, zero_deg=zero)
    assert fitter.result().eccentricity.vector == pytest.approx(CENTRE, abs=1e-9)


def test_polarity_of_the_indicator_does_not_matter():
    angles = range(0, 360, 45)
    ecc = fitter_of(angles, [-bore(a) for a in angles], polarity=-1).result().eccentricity
    assert ecc.vector == pytest.approx(CENTRE, abs=1e-12)


def test_estimate_and_result_agree():
    angles = range(0, 360, 30)
    values = [bore(a) + 0.002 * math.sin(7 * a) for a in angles]
    fitter = fitter_of(angles, values)
    estimate, ecc = fitter.estimate(), fitter.result().eccentricity
    assert (estimate.x, estimate.y) == pytest.approx(ecc.vector, abs=1e-13)


def test_estimate_along_the_way_equals_one_made_at_once():
    angles = range(0, 360, 30)
    values = [bore(a) + 0.002 * math.sin(7 * a) for a in angles]
    slow = Fitter(Setup())
    for k, (deg, value) in enumerate(zip(angles, values, strict=True)):
        slow.add_station(deg, np.array([value]), np.array([float(k)]))
        slow.estimate()
        if k == 6:
            slow.undo()
            slow.estimate()
            slow.add_station(deg, np.array([value]), np.array([float(k)]))
    assert slow.estimate() == fitter_of(angles, values).estimate()


@pytest.mark.parametrize("angles", [[], [0], [0, 180], [0, 5, 10], [0, 20, 40]])
def test_too_little_of_the_circle_gives_no_number(angles):
    fitter = fitter_of(angles, [bore(a) for a in angles])
    assert fitter.estimate() is None
    with pytest.raises(TooFewStations, match="no result yet"):
        fitter.result()


@pytest.mark.parametrize("at", [0, 2, 11])
@pytest.mark.parametrize("mm", [1e3, 1e6, 3e7, 1e9])
def test_a_reading_that_no_dial_shows_is_no_crash_and_no_verdict(mm, at):
    deg = 30.0 * np.arange(12)
    value = 0.05 * np.cos(np.deg2rad(deg))
    value[at] = mm
    fitter = Fitter(Setup(resolution_mm=0.00127))
    for k in range(12):
        fitter.add_station(deg[k], value[k : k + 1], np.array([4.0 * k]))
    result = fitter.result()
    named = [outlier.deg for outlier in result.checks.outliers]
    assert named == [deg[at]] or result.decision.state != "inside"


def test_closing_reading_takes_the_drift_out():
    angles = [0, 45, 90, 135, 180, 225, 270, 315, 0]
    values = [bore(a) + 0.001 * k for k, a in enumerate(angles)]
    result = fitter_of(angles, values, closing=True).result()
    assert result.eccentricity.vector == pytest.approx(CENTRE, abs=1e-12)
    assert result.corrections["drift_mm"] == pytest.approx(0.008)
    assert result.stations == 8 and result.model.drift
    assert result.checks.closure == pytest.approx(0.008)


def test_a_closing_reading_counts_whether_or_not_it_was_asked_for():
    angles = [0, 45, 90, 135, 180, 225, 270, 315, 0]
    values = [bore(a) + 0.001 * k for k, a in enumerate(angles)]
    said, unsaid = (fitter_of(angles, values, closing=closing).result() for closing in (True, False))
    assert unsaid == said and unsaid.corrections["drift_mm"] == pytest.approx(0.008)


def test_form_is_told_from_offset():
    angles = range(0, 360, 30)
    values = [bore(a) + 0.05 * math.cos(2 * math.radians(a - 70)) for a in angles]
    result = fitter_of(angles, values).result()
    assert result.eccentricity.vector == pytest.approx(CENTRE, abs=1e-12)
    assert result.form.ovality == pytest.approx(0.05)
    assert result.form.ovality_deg == pytest.approx(70.0)


def test_no_eccentricity_is_said_and_no_direction_trusted():
    values = [0.0, 0.001, -0.001, 0.0005, -0.0005, 0.001, -0.001, 0.0]
    result = fitter_of(range(0, 360, 45), values).result()
    assert not result.eccentricity.detected
    assert facts(result, "not_detected")["detectable_mm"] == result.eccentricity.detectable
    assert result.eccentricity.u95_deg == 180.0


def test_result_is_plain_data():
    import json

    result = fitter_of(range(0, 360, 45), [bore(a) for a in range(0, 360, 45)]).result()
    keys = json.loads(json.dumps(result.to_dict(), allow_nan=False)).keys()
    assert keys >= {
        "feature", "unit", "samples", "stations", "turns", "coverage_deg", "condition", "model", "tir",
        "eccentricity", "form", "checks", "budget", "decision", "corrections", "remarks",
    }  # fmt: skip


def test_continuous_and_entered_sweeps_agree():
    deg = np.linspace(0, 360, 7200, endpoint=False)
    track = Fitter(Setup())
    track.add_track(deg, np.array([bore(d) for d in deg]), deg / 100.0)
    assert track.result().eccentricity.vector == pytest.approx(CENTRE, abs=1e-12)
    estimate = track.estimate()
    assert (estimate.x, estimate.y) == pytest.approx(CENTRE, abs=1e-12)


def test_a_rest_of_the_crank_does_not_pull_the_fit():
    """A minute of readings at one place must not outweigh the rest of the circle."""
    deg = np.concatenate([np.linspace(0, 360, 3600, endpoint=False), np.full(60_000, 359.0)])
    value = np.array([bore(d) + 0.01 * math.cos(3 * math.radians(d)) for d in deg])
    track = Fitter(Setup())
    track.add_track(deg, value, np.arange(len(deg)) / 1000.0)
    assert track.result().eccentricity.vector == pytest.approx(CENTRE, abs=2e-4)
