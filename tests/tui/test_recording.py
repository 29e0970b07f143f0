"""`coaxly.read`: what a recording says, as numbers and as a picture, and the same as the commands say."""

import json
import math
import subprocess
import sys
from xml.etree import ElementTree

import numpy as np
import pytest
from making import RECORDINGS, THOU, by_hand, header_line

import coaxly
import coaxly.fitter
from coaxly.fitter import FitterError
from coaxly.fitter.numeric.basis import harmonic_rows
from coaxly.job.recorded import columns as table
from coaxly.job.recorded.pipeline import replay
from coaxly.logger.recording import reader

FOUND = RECORDINGS / "launch-found.jsonl"
SAMPLES = sorted(RECORDINGS.glob("launch-*.jsonl"))
TWELVE = [0.004 * math.cos(math.radians(30 * k - 40)) + 0.0001 * (k % 2) for k in range(12)]


def lines(path, header, records):
    """A recording of a header and records (t, kind, rest)."""
    rows = [json.dumps({"t": t, "kind": kind, **rest}) for t, kind, rest in records]
    path.write_text("\n".join([header_line(**header), *rows]) + "\n")
    return path


def raw(t, data, port="indicator"):
    return t, "raw", {"port": port, "data": data}


def test_the_package_tells_its_names_and_loads_nothing():
    assert {"read", "Recording", "Plot", "ERRORS"} <= set(dir(coaxly)) == set(coaxly.__all__)
    assert coaxly.read.__doc__ and coaxly.Recording.stations.__doc__
    code = (
        "import coaxly, sys; dir(coaxly); print(sorted({'numpy', 'msgspec', 'argparse'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert done.stdout == "[]\n", done.stderr
    with pytest.raises(AttributeError, match="has no attribute 'raed'"):
        coaxly.raed  # noqa: B018


@pytest.mark.parametrize("package", [coaxly, coaxly.fitter])
def test_what_dir_shows_is_there_and_nothing_else_is_shown(package):
    assert sorted(dir(package)) == sorted(package.__all__)
    assert all(getattr(package, name) is not None for name in dir(package))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_result_is_that_of_the_commands(path):
    read = coaxly.read(str(path))
    assert read.result() == replay(path).result()
    assert read.header.job == "launch-marigold" and read.header.feature in repr(read)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_corrected_less_residual_is_the_fitted_surface(path):
    """By least squares of another library, on the angles alone."""
    read = coaxly.read(path)
    stations, model = read.stations(), read.result().model
    used = stations["used"]
    design = harmonic_rows(stations["deg"][used], model.harmonics)
    fitted, *_ = np.linalg.lstsq(design, stations["corrected_mm"][used], rcond=None)
    surface = stations["corrected_mm"] - stations["residual_mm"]
    assert surface[used] == pytest.approx(design @ fitted, abs=1e-9)
    assert np.abs(stations["residual_mm"][used]).max() < 1.0 * THOU
    assert np.isnan(surface[~used]).all() and used.sum() == read.result().stations


def test_a_closing_reading_has_no_news_and_does_not_count():
    stations = coaxly.read(FOUND).stations()
    assert stations["used"].tolist() == [True] * 8 + [False]
    drift = stations["value_mm"][-1] - stations["value_mm"][0]
    share = (stations["t_s"] - stations["t_s"][0]) / (stations["t_s"][-1] - stations["t_s"][0])
    taken = stations["value_mm"] - stations["corrected_mm"]
    assert taken[:-1] == pytest.approx((drift * share)[:-1], abs=1e-9)


def test_a_station_that_does_not_belong_is_shown_and_not_used(tmp_path):
    burr = [*TWELVE[:4], TWELVE[4] + 0.03, *TWELVE[5:]]
    read = coaxly.read(by_hand(tmp_path / "x.jsonl", burr))
    stations = read.stations()
    assert np.flatnonzero(~stations["used"]).tolist() == [4]
    assert stations["value_mm"][4] == pytest.approx(burr[4] * 25.4, abs=2e-5)
    crosses = ElementTree.fromstring(read.plot().svg).findall(".//{*}line[@stroke='#b3261e']")
    assert len(crosses) == 3  # two of the cross and the shaft of the arrow


def test_angles_are_given_as_they_were_entered_and_on_the_engine(tmp_path):
    setup = {"view": "front", "zero_deg": 12.3, "polarity": -1}
    stations = coaxly.read(by_hand(tmp_path / "x.jsonl", TWELVE, setup=setup)).stations()
    assert stations["entered_deg"].tolist() == [30.0 * k for k in range(12)]
    assert stations["deg"] == pytest.approx([(12.3 - 30.0 * k) % 360.0 for k in range(12)])
    assert stations["clock"][:2].tolist() == ["12:25", "11:25"]
    assert stations["value_mm"] == pytest.approx([-25.4 * value for value in TWELVE], abs=2e-5)


def test_too_few_stations_are_shown_all_the_same(recording):
    read = coaxly.read(recording([0.001, 0.002], [0, 90]))
    stations = read.stations()
    assert stations["value_mm"] == pytest.approx([0.0254, 0.0508])
    assert np.isnan(stations["corrected_mm"]).all() and not stations["used"].any()
    with pytest.raises(FitterError, match="at least 3 are needed"):
        read.plot()


def test_gauge_steps_have_lengths_in_place_of_angles(recording):
    steps = recording([0.0, 0.5, 1.02, 9.0], [0, 1, 2, 7], unit="mm", feature="steps",
                      setup={"steps_mm": [0.0, 0.5, 1.0]})  # fmt: skip
    read = coaxly.read(steps)
    stations = read.stations()
    assert stations["step_mm"][:3].tolist() == [0.0, 0.5, 1.0] and math.isnan(stations["step_mm"][3])
    assert "deg" not in stations and "used" not in stations and "deg" not in read.readings()


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_station_is_the_mean_of_the_readings_that_have_its_angle(path):
    read = coaxly.read(path)
    readings, stations = read.readings(), read.stations()
    assert (np.diff(readings["t_s"]) > 0.0).all()
    starts = np.flatnonzero(np.diff(np.nan_to_num(readings["deg"], nan=-1.0), prepend=-1.0))
    dwells = [
        part for part in np.split(np.arange(len(readings["deg"])), starts) if readings["deg"][part[0]] >= 0
    ]
    assert [len(dwell) for dwell in dwells] == stations["readings"].tolist()
    means = [readings["value_mm"][dwell].mean() for dwell in dwells]
    assert means == pytest.approx(stations["value_mm"].tolist(), abs=1e-12)


def test_a_station_taken_back_leaves_its_readings_without_an_angle(tmp_path):
    records = [raw(0.1, "1.0\n"), (0.2, "station", {"deg": 0}), raw(1.1, "2.0\n"), (1.2, "station", {"deg": 90}),
               (1.3, "undo", {}), raw(2.1, "3.0\n"), (2.2, "station", {"deg": 90})]  # fmt: skip
    read = coaxly.read(lines(tmp_path / "x.jsonl", {"instrument": {"unit": "mm"}}, records))
    readings = read.readings()
    assert readings["shown_mm"].tolist() == [1.0, 2.0, 3.0]
    assert readings["deg"][[0, 2]].tolist() == [0.0, 90.0] and math.isnan(readings["deg"][1])


def test_a_station_of_an_earlier_time_has_the_readings_of_that_time(tmp_path):
    records = [raw(0.1, "1.0\n"), raw(0.8, "2.0\n"), (0.2, "station", {"deg": 45})]
    read = coaxly.read(lines(tmp_path / "x.jsonl", {"instrument": {"unit": "mm"}}, records))
    readings = read.readings()
    assert readings["deg"][0] == 45.0 and math.isnan(readings["deg"][1])
    assert read.stations()["value_mm"].tolist() == [1.0]


def test_readings_with_an_encoder_have_their_own_angles_and_none_in_an_outage(tmp_path):
    records = [raw(round(0.1 * k, 3), f"{k % 360}\n", "encoder") for k in range(20)]
    records += [raw(round(10 + 0.1 * k, 3), f"{k + 30}\n", "encoder") for k in range(20)]
    records += [raw(round(0.1 * k + 0.05, 3), f"{k / 100:.2f}\n") for k in range(119)]
    header = {"instrument": {"unit": "mm"}, "angle": {"mode": "encoder"}, "setup": {"zero_deg": 350.0}}
    path = lines(tmp_path / "x.jsonl", header, sorted(records, key=lambda record: record[0]))
    readings, pipeline = table.reading_columns(path)
    known = ~np.isnan(readings["deg"])
    assert pipeline.pairing.without_angle == (~known).sum() > 70
    early = known & (readings["t_s"] < 2.0)
    assert readings["entered_deg"][early] == pytest.approx(10.0 * readings["t_s"][early], abs=1e-6)
    assert readings["deg"][early] == pytest.approx((350.0 + 10.0 * readings["t_s"][early]) % 360.0, abs=1e-6)
    late = known & (readings["t_s"] > 10.0)
    assert readings["entered_deg"][late] == pytest.approx(30 + 10.0 * (readings["t_s"][late] - 10), abs=1e-6)


def test_readings_of_a_combined_line_have_the_angle_that_stood_on_it(tmp_path):
    records = [raw(0.1 * k, f"{10 * k},{k / 100:.2f}\n") for k in range(30)]
    header = {"instrument": {"profile": "angle-and-value", "unit": "mm"}, "angle": {"mode": "combined"}}
    readings = coaxly.read(lines(tmp_path / "x.jsonl", header, records)).readings()
    assert readings["deg"] == pytest.approx([10.0 * k for k in range(30)])


def test_a_second_indicator_has_rows_of_its_own_half_a_turn_away(tmp_path):
    two = {"profile": "two", "pattern": r"(?P<value>[+-]?[\d.]+);(?P<opposite>[+-]?[\d.]+)", "unit": "mm"}
    records = []
    for k in range(4):
        records += [raw(k + 0.1, f"0.{k};0.{k + 4}\n"), (k + 0.2, "station", {"deg": 90 * k})]
    readings = coaxly.read(
        lines(tmp_path / "x.jsonl", {"instrument": two, "feature": "face"}, records)
    ).readings()
    assert readings["port"].tolist() == ["indicator"] * 4 + ["opposite"] * 4
    assert readings["shown_mm"] == pytest.approx([0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7])
    assert readings["deg"].tolist() == [0.0, 90.0, 180.0, 270.0, 180.0, 270.0, 0.0, 90.0]


@pytest.mark.parametrize("block", [200, 999, 4096])
def test_no_cut_into_blocks_changes_a_reading(block, monkeypatch):
    whole = coaxly.read(FOUND).readings()
    monkeypatch.setattr(reader, "BLOCK", block)
    cut = coaxly.read(FOUND).readings()
    assert all(whole[name].tobytes() == cut[name].tobytes() for name in whole)


def test_a_recording_that_was_changed_is_refused_in_words(tmp_path):
    path = tmp_path / "x.jsonl"
    path.write_bytes(FOUND.read_bytes().replace(b"+00", b"+01", 1))
    with pytest.raises(coaxly.ERRORS, match=r"is not as it was recorded .*anyway=True"):
        coaxly.read(path)
    assert len(coaxly.read(path, anyway=True).stations()["deg"]) == 9
    with pytest.raises(coaxly.ERRORS, match=r"nowhere\.jsonl"):
        coaxly.read(tmp_path / "nowhere.jsonl")


def test_the_picture_says_what_the_arrow_says():
    read = coaxly.read(FOUND)
    root = ElementTree.fromstring(read.plot("mm")._repr_svg_())
    clock = read.result().eccentricity.move_clock
    words = "OUTSIDE: run-out 0.276 mm, move the housing to " + clock
    assert words in [each.text for each in root.findall(".//{*}text")] and words[9:] in root.get("aria-label")
    shaft = next(root.iterfind(".//{*}line[@stroke='#b3261e']"))
    x, y = (float(shaft.get(f"{axis}2")) - float(shaft.get(f"{axis}1")) for axis in "xy")
    assert math.degrees(math.atan2(x, -y)) % 360 == pytest.approx(
        read.result().eccentricity.move_deg, abs=0.5
    )
    assert len(root.findall(".//{*}circle[@r='3.2']")) == 8


@pytest.mark.parametrize(("feature", "words"), [("face", "high at 3:00"), ("pilot", "on the part")])
def test_what_no_housing_is_moved_for_has_its_high_point_shown(recording, feature, words):
    read = coaxly.read(recording([0.01 * math.sin(math.radians(45 * k)) for k in range(8)], feature=feature))
    assert words in ElementTree.fromstring(read.plot().svg).get("aria-label")


def test_where_no_direction_is_found_none_is_drawn(recording):
    even = [0.0001, -0.0001, -0.0001, 0.0001, 0.0001, -0.0001, -0.0001, 0.0001]
    picture = coaxly.read(recording(even)).plot().svg
    assert "no direction found" in picture and "#b3261e" not in picture
