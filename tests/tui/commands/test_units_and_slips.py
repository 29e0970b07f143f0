"""A unit is never assumed; a number that looks like a slip is questioned."""

import io
import json
import math
from dataclasses import replace

import pytest
from making import THOU, by_hand, header_line

from coaxly.entry.instruments import dial_at
from coaxly.job.recorded.pipeline import replay
from coaxly.job.recorded.slips import slip_doubt
from coaxly.logger.profile import BUILT_IN, Profile, built_in, load
from coaxly.main import main
from coaxly.say.sweep.sweepwords import typed_words
from coaxly.say.sweep.warnings import sentences


@pytest.mark.parametrize("name", BUILT_IN)
def test_no_profile_that_is_shipped_claims_to_know_the_unit(name, tmp_path):
    assert built_in(name).unit == ""
    path = tmp_path / "own.toml"
    path.write_text("baud = 4800\n")
    assert load(str(path)).unit == ""


def test_a_header_that_names_no_unit_means_what_the_format_means():
    assert Profile.from_header({}).unit == Profile.from_header({"profile": "typed"}).unit == "mm"
    assert Profile.from_header({"unit": "in"}).unit == "in"
    # Written by a sweep whose lines say their unit, each for itself.
    stated = Profile.from_header(replace(built_in("typed")).to_header())
    assert stated.unit == "" and Profile.from_header(stated.to_header()) == stated


@pytest.mark.parametrize("profile", ["stream-decimal", "polled-decimal", "angle-and-value"])
def test_a_sweep_whose_unit_nobody_states_is_refused(profile, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["sweep", "--port", "/dev/null", "--profile", profile, "--headless"]) == 2
    err = capsys.readouterr().err
    assert "--unit mm or --unit in" in err and err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_a_unit_that_contradicts_the_dials_profile_is_refused(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bench-dial.toml").write_text('unit = "in"\n')
    words = ["sweep", "--port", "/dev/null", "--profile", "bench-dial.toml", "--headless", "--unit", "mm"]
    assert main(words) == 2
    said = capsys.readouterr().err
    assert "unit mm" in said and "bench-dial, by which the dial shows in" in said and said.count("\n") == 1
    assert [path.name for path in tmp_path.iterdir()] == ["bench-dial.toml"]
    assert dial_at("/dev/null", "bench-dial.toml", "in").profile.unit == "in"


def test_on_a_terminal_the_unit_is_asked_for(tmp_path, monkeypatch, capsys):
    from coaxly.commands import sweep
    from coaxly.parser import build

    monkeypatch.setattr(sweep, "has_screen", lambda: True)
    monkeypatch.setattr("sys.stdin", io.StringIO("thou\nInch\n"))
    request = sweep.request_of(
        build().parse_args(["sweep", "--port", "x", "--out", str(tmp_path / "s.jsonl")])
    )
    assert request.dial.profile.unit == "in"
    assert capsys.readouterr().err.count("mm or in") == 2


def typed(tmp_path, monkeypatch, lines, *options):
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(lines) + "\n"))
    out = tmp_path / f"{len(list(tmp_path.iterdir()))}.jsonl"
    code = main(["sweep", "--profile", "typed", "--no-closing", "--headless", "--out", str(out), *options])
    return code, out


SWEEP = [12.0 * math.cos(math.radians(45 * k - 30)) for k in range(8)]


def test_typed_readings_may_carry_their_unit(tmp_path, monkeypatch, capsys):
    code, path = typed(tmp_path, monkeypatch, [f"{v:.1f}thou" for v in SWEEP])
    assert code == 1 and "24.0 thou" in capsys.readouterr().out
    again = replay(path).result()
    assert again.tir.fitted == pytest.approx(24 * THOU, rel=0.01)
    other = typed(tmp_path, monkeypatch, [f"{v / 1000:.4f}" for v in SWEEP], "--unit", "in")[1]
    assert replay(other).result().tir.fitted == pytest.approx(24 * THOU, rel=0.01)


def test_a_typed_number_without_any_unit_is_not_taken_but_asked_for(tmp_path, monkeypatch, capsys):
    typed(tmp_path, monkeypatch, ["0.0149", "14.9thou"])
    err = capsys.readouterr().err
    assert "it has no unit: write it like 14.9thou" in err and "switched on" not in err
    typed(tmp_path, monkeypatch, ["14.9 thuo"], "--unit", "in")
    assert "'14.9 thuo' was not taken, it is no reading" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("HOLD", "on hold"),
        ("OVER", "over its range"),
        ("99.999", "over its range"),
        ("E-1", "reports an error"),
    ],
)
def test_what_a_display_says_is_told_by_name_where_it_is_typed(line, says, tmp_path, monkeypatch, capsys):
    typed(tmp_path, monkeypatch, [line], "--unit", "in")
    err = capsys.readouterr().err
    assert f"'{line}' was not taken: the dial" in err and says in err and "no reading" not in err


def test_thou_typed_as_inches_are_questioned_at_once_and_in_the_result(tmp_path, monkeypatch, capsys):
    typed(tmp_path, monkeypatch, ["0.0149", "14.2", "0.0120", "0.0110"], "--unit", "in", "--stations", "4")
    assert "perhaps thou were typed" in capsys.readouterr().err
    typed(tmp_path, monkeypatch, [f"{v:.1f}" for v in SWEEP], "--unit", "in")
    assert "is the unit right?" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("unit", "times", "swing"),
    [
        ("thou", 20.0, "463.6 thou"),
        ("um", 500.0, "11591 um"),
        ("mm", 1.0, "23.182 mm"),
        ("in", 0.1, "2.3182 in"),
    ],
)
def test_no_dial_is_asked_whether_it_shows_the_unit_that_was_said(
    unit, times, swing, tmp_path, monkeypatch, capsys
):
    typed(tmp_path, monkeypatch, [f"{times * v:.4f}" for v in SWEEP], "--unit", unit)
    said = capsys.readouterr().out
    assert f"the dial swings {swing}" in said and "is the unit right?" in said
    assert f"If the dial shows {unit} " not in said
    assert ("If the dial shows" in said) == (unit != "um")


@pytest.mark.parametrize(
    ("newest", "unit", "words"),
    [
        (149.0, "in", "the decimal point slipped: undo if so"),
        (15.2 * 25.4, "in", "mm were typed: undo if so"),
        (14.9e3, "in", "thou were typed: undo if so"),
        (14.9 / 0.0254, "mm", "thou were typed: undo if so"),
        (14.9e3, "thou", "before it: undo it if it was taken wrongly"),
        (15.2 * 25.4, "thou", "before it: undo it if it was taken wrongly"),
    ],
)
def test_slips_are_named(newest, unit, words):
    slip = slip_doubt([v * THOU for v in (14.9, 15.1, 14.0, 12.8, newest)], 5 * THOU, unit)
    assert words in typed_words(slip, "thou")
    assert f"{slip.far_mm:+.3f} mm from" in typed_words(slip, "mm")


def test_a_slip_in_a_table_is_told_with_its_row_and_nobody_is_told_to_undo(tmp_path, capsys):
    path = tmp_path / "paper.csv"
    values = (0.38, 0.36, 0.33, 14.9, 0.37, 0.40, 0.42, 0.41)
    rows = [f"{45 * k},{value}" for k, value in enumerate(values)]
    path.write_text("\n".join(["angle,reading_mm", *rows]) + "\n")
    main(["sweep", "--csv", str(path), "-o", str(tmp_path / "s.jsonl"), "--limit", "5thou"])
    err = capsys.readouterr().err
    assert "reading 4 of " in err and "paper.csv is +" in err and "perhaps thou were typed" in err
    assert "undo" not in err


def test_what_a_housing_does_is_no_slip():
    for k in range(1, len(SWEEP) + 1):
        assert slip_doubt([v * THOU for v in SWEEP[:k]], 5 * THOU, "thou") is None


def recorded(tmp_path, swing, unit, stage, step=0.00005):
    """A sweep whose numbers swing by so much, in steps of the display."""
    lines = [header_line(instrument={"unit": unit}, angle={"mode": "entered"}, stage=stage)]
    for k in range(8):
        value = round(swing / 2.0 * math.cos(math.radians(45 * k - 20)) / step) * step
        lines.append(json.dumps({"t": k, "kind": "raw", "port": "indicator", "data": f"{value:+.6f}\n"}))
        lines.append(json.dumps({"t": k + 0.2, "kind": "station", "deg": 45 * k}))
    path = tmp_path / f"{swing}{unit}{stage}.jsonl"
    path.write_text("\n".join(lines))
    return sentences(replay(path).result(), "thou")


@pytest.mark.parametrize("swing", [0.011, 0.020, 0.030, 0.0394, 0.059])
@pytest.mark.parametrize("step", [0.00005, 0.0005])
def test_an_inch_dial_taken_for_mm_is_questioned(tmp_path, swing, step):
    """The line shows inches; the header says mm, and the housing seems 25.4 times as good as it is."""
    said = recorded(tmp_path, swing, "mm", "found", step)
    assert any("if it shows inches" in words for words in said)
    assert not any("not mm" in words for words in recorded(tmp_path, swing, "in", "found", step))


@pytest.mark.parametrize("step", [0.01, 0.001])
def test_a_good_bore_on_a_dial_in_mm_is_not_questioned(tmp_path, step):
    for swing in (0.01, 0.015, 0.02, 0.033, 0.05):
        assert not any("unit" in words for words in recorded(tmp_path, swing, "mm", "found", step))


def test_mm_typed_where_thou_were_meant_are_questioned(tmp_path, monkeypatch, capsys):
    """A swing of half a thou in hundredths or thousandths of one: hardly a dial shows that; of half a mm most do."""
    for digits in (2, 3):
        typed(tmp_path, monkeypatch, [f"{v / 48:.{digits}f}thou" for v in SWEEP])
        assert "if they are mm, not thou, that is 0.4" in capsys.readouterr().out
    for usual in ([f"{v / 48:.1f}thou" for v in SWEEP], [f"{v / 4:.2f}thou" for v in SWEEP]):
        typed(tmp_path, monkeypatch, usual, "--sure", "not-turned")
        assert "Make sure of the unit" not in capsys.readouterr().out


def test_a_metric_dial_typed_as_thou_is_not_inside(tmp_path, monkeypatch, capsys, simulated_time):
    """Ten thou off centre, in hundredths of a mm."""
    readings = (0, 0.08, 0.01, -0.15, -0.32, -0.42, -0.38, -0.19, 0.01)
    assert typed(tmp_path, monkeypatch, [f"{v}thou" for v in readings[:8]])[0] == 1
    assert "UNIT IN DOUBT" in capsys.readouterr().out


def test_of_thou_typed_as_inches_the_unit_is_told_first_and_no_reading_is_called_a_burr(
    tmp_path, monkeypatch, capsys, simulated_time
):
    assert (
        typed(tmp_path, monkeypatch, [str(v) for v in (5, 3, -2, -4, -5, -3, 2, 40)], "--unit", "in")[0] == 1
    )
    said = [line for line in capsys.readouterr().out.splitlines() if line.startswith("  !")]
    assert "is the unit right" in said[0] and not any("left out" in line for line in said)


def test_the_unit_in_a_profile_of_the_dial_is_questioned_too(tmp_path):
    """A person said mm when the dial was found, and its lines show a ten-thousandth of an inch: six thou off."""
    readings = (0, 3.8, 3.5, 0.2, -4.2, -7.0, -7.8, -4.8, 0.3)
    instrument = {"profile": "bench-dial", "unit": "mm"}
    lines = [header_line(instrument=instrument, angle={"mode": "entered"}, setup={"closing": True})]
    for k, thou in enumerate(readings):
        lines.append(
            json.dumps({"t": k, "kind": "raw", "port": "indicator", "data": f"{thou / 1000:+08.4f}\r\n"})
        )
        lines.append(json.dumps({"t": k + 0.2, "kind": "station", "deg": 45 * k % 360}))
    path = tmp_path / "dial.jsonl"
    path.write_text("\n".join(lines) + "\n")
    assert replay(path).result().decision.withheld == ("other_unit",)


def in_a_profile(tmp_path, swing, step, stage="", *, sure=(), **instrument):
    """The state of a sweep, and why not: a dial of one's own, by whose profile the numbers are mm. Each
    station is the mean of five readings that do not quite agree, and none was heard on the way."""
    lines = [
        header_line(
            instrument={"profile": "bench-dial", "unit": "mm", **instrument}, angle={"mode": "entered"}, stage=stage,
            setup={"dwell_s": 1.0, "sure": list(sure)},
        )
    ]  # fmt: skip
    for k in range(8):
        value = swing / 2.0 * math.cos(math.radians(45 * k - 20))
        for n in range(5):
            shown = (round(value / step) + (k + 2 * n) % 3) * step
            lines.append(
                json.dumps(
                    {"t": 9 * k + 0.1 * n, "kind": "raw", "port": "indicator", "data": f"{shown:+.6f}\n"}
                )
            )
        lines.append(json.dumps({"t": 9 * k + 0.5, "kind": "station", "deg": 45 * k}))
    path = tmp_path / "profile.jsonl"
    path.write_text("\n".join(lines) + "\n")
    decision = replay(path).result().decision
    return decision.state, decision.withheld


@pytest.mark.parametrize("stage", ["found", "left", ""])
@pytest.mark.parametrize("step", [0.00001, 0.00005])
def test_no_display_in_mm_is_finer_than_a_tenth_of_a_micrometre_whatever_its_profile_says(
    tmp_path, stage, step
):
    """Inches to five decimals: six thou and more off centre would be inside."""
    for swing in (0.006, 0.02, 0.06, 0.1):
        assert in_a_profile(tmp_path, swing, step, stage) == ("unsure", ("other_unit",))


def test_counts_have_no_last_place_that_speaks_of_a_display(tmp_path):
    """A scale of 1.27 um a count, the twentieth of a thou, of which the profile makes mm."""
    counts = {"scale": 0.00127}
    assert in_a_profile(tmp_path, 0.03 / 0.00127, 1.0, "left", **counts) == ("inside", ())


def test_six_thou_in_ten_thousandths_of_an_inch_are_not_inside_because_a_profile_says_mm(tmp_path):
    for stage in ("found", "left"):
        assert in_a_profile(tmp_path, 0.006, 0.0001, stage) == ("unsure", ("other_unit",))


def test_who_made_sure_of_the_unit_has_the_verdict(tmp_path):
    assert in_a_profile(tmp_path, 0.02, 0.00001, sure=["other_unit"]) == ("inside", ())


@pytest.mark.parametrize("stage", ["found", "left"])
@pytest.mark.parametrize("step", [0.001, 0.0005, 0.0001])
def test_a_dial_in_mm_with_a_profile_is_not_doubted_at_usual_swings(tmp_path, step, stage):
    for swing in (0.02, 0.04, 0.08):
        assert in_a_profile(tmp_path, swing, step, stage) == ("inside", ())


def test_what_no_housing_is_off_by_is_no_verdict_either(tmp_path):
    """Two thou of run-out in mm, typed as inches."""
    decision = replay(swept(tmp_path / "s.jsonl", 0.076, "in")).result().decision
    assert (decision.state, decision.withheld) == ("unsure", ("too_large",))


@pytest.mark.parametrize("unit", ["in", "mm"])
@pytest.mark.parametrize(
    "thou",
    [
        (0, -1, -5, -8, -10, -9, -5, -1),
        (0, -2, -4, -7, -9, -8, -5, -1),
        (0, 1, 3, 6, 8, 7, 4, 1),
        (0, 0, -1, -1, 0, 0, 1, 1),
        (0, 1, 2, 3, 2, 1, 0, -1),
    ],
)
def test_whole_thou_that_are_taken_for_inches_are_no_bore_with_burrs_all_round(tmp_path, thou, unit):
    """Few whole numbers lie on no circle: half of them would be left out, and the rest far outside."""
    result = replay(by_hand(tmp_path / "s.jsonl", thou, unit=unit)).result()
    (told,) = [each for each in result.remarks if each.kind == "too_large"]
    assert told.facts["swing_mm"] == pytest.approx((max(thou) - min(thou)) * {"in": 25.4, "mm": 1.0}[unit])
    assert result.decision.state == "unsure" and "too_large" in result.decision.withheld


def test_one_decimal_point_that_slipped_is_named_by_itself(tmp_path):
    values = [0.0149, 0.0151, 0.0140, 0.134, 0.0128, 0.0131, 0.0140, 0.0147]
    result = replay(by_hand(tmp_path / "s.jsonl", values)).result()
    assert [each.deg for each in result.checks.outliers] == [135.0]
    assert not any(each.kind == "too_large" for each in result.remarks)


def test_the_unit_of_a_tables_heading_is_questioned_like_one_that_was_typed(tmp_path, capsys):
    def table(unit, values):
        path = tmp_path / f"{unit}.csv"
        rows = [f"{45 * k % 360},{value}" for k, value in enumerate(values)]
        path.write_text("\n".join([f"angle,reading_{unit}", *rows]) + "\n")
        return main(["sweep", "--csv", str(path), "-o", str(tmp_path / f"{unit}.jsonl"), "--limit", "5thou"])

    inches = (-0.0002, 0.0157, 0.0277, 0.0292, 0.0185, 0.0022, -0.0099, -0.0110, -0.0001)
    assert table("mm", inches) == 1 and "if it shows inches" in capsys.readouterr().out
    assert table("in", (-0.0, -0.096, -0.192, -0.232, -0.218, -0.14, -0.036, 0.02, -0.004)) in (0, 1)
    assert "is the unit right?" in capsys.readouterr().out


def test_an_encoders_count_is_no_angle_that_can_be_typed(tmp_path, monkeypatch, capsys):
    typed(tmp_path, monkeypatch, [f"{256 * k} {v / 20:.1f}thou" for k, v in enumerate(SWEEP)])
    assert "angle is '512'" in capsys.readouterr().err


def test_a_good_housing_as_left_is_not_questioned(tmp_path):
    assert not any("inches" in words for words in recorded(tmp_path, 1.5 * 0.0254, "mm", "left", 0.001))
    by_hand(tmp_path / "h.jsonl", [v / 4000 for v in SWEEP])
    assert not any("unit" in words for words in sentences(replay(tmp_path / "h.jsonl").result(), "thou"))


def swept(path, swing, unit, *, setup=None):
    return by_hand(
        path, [swing / 2.0 * math.cos(math.radians(45 * k)) for k in range(8)], unit=unit, setup=setup
    )


def test_no_verdict_is_given_while_another_unit_would_turn_it(tmp_path, capsys):
    """9.6 thou of an inch dial whose header says mm: 0.0096 mm, as if it were inside."""
    path = swept(tmp_path / "s.jsonl", 0.0096, "mm")
    decision = replay(path).result().decision
    assert (decision.state, decision.withheld) == ("unsure", ("other_unit",))
    assert main(["replay", str(path)]) == 1
    out = capsys.readouterr().out
    assert "UNIT IN DOUBT: no verdict" in out and "INSIDE" not in out and "9.6 thou" in out
    sure = swept(tmp_path / "sure.jsonl", 0.0096, "mm", setup={"unit_sure": True, "sure": ["not_turned"]})
    assert main(["replay", str(sure)]) == 0


def test_the_unit_of_what_is_inside_in_either_is_not_asked(tmp_path):
    turned = {"sure": ["not_turned"]}
    decision = replay(swept(tmp_path / "s.jsonl", 0.002, "mm", setup=turned)).result().decision
    assert (decision.state, decision.withheld) == ("inside", ())


@pytest.mark.parametrize(("swing", "unit"), [(0.0096, "mm"), (0.254, "in")])
def test_nothing_is_fitted_or_replaced_by_a_sweep_whose_unit_is_in_doubt(swing, unit, tmp_path, capsys):
    path = str(swept(tmp_path / "s.jsonl", swing, unit))
    assert main(["plan", path, "--kit", "5thou,10thou"]) == 2
    said = capsys.readouterr()
    assert "make sure of the unit" in said.err and said.err.count("\n") == 1 and "replace" not in said.out
    assert main(["plan", path, "--kit", "5thou,10thou", "--anyway"]) == 0


def test_an_empty_line_among_typed_readings_is_answered_and_holds_nothing_up(tmp_path, monkeypatch, capsys):
    def nobody_answers(run):
        raise AssertionError("a station was asked of a dial that is not there")

    monkeypatch.setattr("coaxly.job.sweep.stops.Stops.confirm", nobody_answers)
    code, _ = typed(tmp_path, monkeypatch, ["0.010", "", "station 45", "0.0065", "done"], "--unit", "in")
    said = capsys.readouterr().err
    assert code == 1 and said.count("\ntype the reading\n") == 2
    assert (
        "type the reading at each place, in inches, or such as 14.9thou" in said
        and "turn to 3:00, stop, type the reading" in said
    )


def test_nobody_is_sent_to_the_crank_for_a_port_that_is_not_there(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert main(["sweep", "--port", "/dev/ttyNOPE", "--unit", "in", "--headless"]) == 3
    said = capsys.readouterr().err
    assert "/dev/ttyNOPE" in said and "turn to" not in said


def test_what_dowels_did_is_not_told_from_a_sweep_whose_unit_is_in_doubt(tmp_path, capsys):
    found, left = (
        str(swept(tmp_path / f"{k}.jsonl", swing, "mm")) for k, swing in enumerate((0.0096, 0.002))
    )
    words = ["verify", found, left, "--fitted", "5thou@0", "--kit", "5thou,10thou"]
    assert main(words) == 2
    said = capsys.readouterr()
    assert "make sure of the unit" in said.err and said.err.count("\n") == 1 and said.out == ""
    main([*words, "--anyway"])
    said = capsys.readouterr()
    assert "used anyway" in said.err and "Measured shift" in said.out
