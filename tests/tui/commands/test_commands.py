"""The commands as a user meets them: output, exit codes, and one clear sentence for every mistake."""

import json
import subprocess
import sys
from dataclasses import asdict

import pytest
from making import RECORDINGS, THOU

from coaxly.commands.sweep import request_of
from coaxly.job.sweep.begin import begin
from coaxly.main import main
from coaxly.parser import COMMANDS, build

EIGHT = [0, 0.002, 0.004, -0.001, -0.007, -0.010, -0.005, 0.001]


@pytest.fixture
def coaxly(capsys):
    def run(*arguments):
        try:
            code = main([str(a) for a in arguments])
        except SystemExit as stop:
            code = stop.code
        out, err = capsys.readouterr()
        return code, out, err

    return run


def test_replay_prints_one_json_object(coaxly, recording):
    code, out, err = coaxly("replay", recording(EIGHT), "--json")
    result = json.loads(out)
    assert code == 1 and err == "" and out.count("\n") == 1
    assert result["schema"] == "coaxly/1" and result["unit"] == "mm"
    assert result["tir"]["fitted"] == pytest.approx(0.29618, abs=1e-5)


def test_replay_in_words(coaxly, recording):
    code, out, _ = coaxly("replay", recording(EIGHT))
    assert code == 1
    assert "11.7 thou (dial TIR" in out and "towards 1:27" in out and "OUTSIDE" in out
    assert "0.148 +- " in coaxly("replay", recording(EIGHT), "--in", "mm")[1]


def test_several_recordings_give_one_surer_result(coaxly, recording):
    once, again = recording(EIGHT), recording([v + 0.05 for v in EIGHT])
    single = json.loads(coaxly("replay", once, "--json")[1])
    code, out, _ = coaxly("replay", once, again, "--json")
    both = json.loads(out)
    assert code == 1 and both["stations"] == 16
    assert both["eccentricity"]["u95_amount"] < single["eccentricity"]["u95_amount"]
    outside = recording([v + 0.1 for v in EIGHT], setup={"surface": "outside"})
    code, _, err = coaxly("replay", once, outside)
    assert code == 2 and "differ in surface" in err


def test_plan(coaxly, recording):
    code, out, _ = coaxly("plan", recording(EIGHT), "--kit", "7thou,14thou", "--limit", "10thou", "--json")
    options = json.loads(out)["options"]
    assert code == 0 and len(options) == 3
    assert set(options[0]) >= {"pair", "dowels", "predicted", "probability", "window_deg", "note"}
    assert options[0]["dowels"][0]["offset"] == pytest.approx(7 * THOU)
    assert {option["pair"] for option in options} == {"parallel", "none"}
    code, out, _ = coaxly("plan", recording(EIGHT), "--kit", "7thou", "--limit", "10thou")
    assert "2 x 7.0 thou to 1:27" in out


def test_verify_names_what_happened(coaxly, recording):
    left = [v + d for v, d in zip(EIGHT, [-0.007, -0.005, 0, 0.005, 0.007, 0.005, 0, -0.005], strict=True)]
    found, left = recording(EIGHT), recording(left)
    code, out, _ = coaxly("verify", found, left, "--fitted", "7thou@0", "--json")
    answer = json.loads(out)
    assert code == 1 and answer["schema"] == "coaxly/1"
    assert answer["planned"]["amount"] == pytest.approx(7 * THOU)
    assert answer["measured"]["clock"] == "12:00"
    assert answer["difference"]["within"] is True
    assert set(answer["finding"]) >= {"cause", "probability", "words", "remedy"}
    code, out, _ = coaxly("verify", found, left)
    assert code == 1 and "Measured shift" in out and "Planned" not in out


def test_ports_are_listed_with_what_stays_the_same(coaxly, monkeypatch):
    from coaxly.commands import ports
    from coaxly.logger.port.ports import Port

    there = [Port("/dev/ttyX0", "/dev/serial/by-id/dial", "dial", usb_id="1234:ABCD", serial_number="SN42")]
    monkeypatch.setattr(ports, "ports", lambda: there)
    code, out, _ = coaxly("ports", "--json")
    assert code == 0 and json.loads(out)["ports"] == [asdict(port) for port in there]
    assert json.loads(out)["ports"][0]["serial_number"] == "SN42"
    code, out, _ = coaxly("ports")
    assert code == 0 and out.split() == [
        "/dev/serial/by-id/dial",
        "(/dev/ttyX0)",
        "1234:ABCD",
        "SN42",
        "dial",
    ]
    monkeypatch.setattr(ports, "ports", lambda: [Port("/dev/ttyS0", "/dev/ttyS0", "", "", "")])
    assert coaxly("ports")[1] == "/dev/ttyS0\n"
    monkeypatch.setattr(ports, "ports", list)
    assert json.loads(coaxly("ports", "--json")[1])["ports"] == []
    assert "coaxly demo" in coaxly("ports")[1]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["replay", "nowhere.jsonl"], "nowhere.jsonl: No such file"),
        (["plan", "x.jsonl", "--kit", "5"], "'5' has no unit: write 5thou or 5mm"),
        (["plan", "x.jsonl", "--kit", ""], "no offsets given"),
        (["sweep"], "--port is missing"),
        (["sweep", "--port", "/dev/null", "--stations", "2"], "from 3 to 360"),
        (["sweep", "--port", "x", "--profile", "nope"], "profile nope: not known"),
        (["sweep", "--port", "x", "--angle", "encoder"], "--encoder PORT"),
        (["sweep", "--port", "x", "--limit", "5"], "has no unit"),
        (["sweep", "--port", "x", "--limit", "0"], "'0' has no unit: write it like 5thou"),
        (["demo", "--speed", "0"], "above 0"),
        (["fly"], "'fly' is not known"),
    ],
)
def test_a_mistake_is_one_sentence_and_exit_code_2(coaxly, arguments, words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, out, err = coaxly(*arguments)
    assert code == 2 and out == "" and words in err
    assert "Traceback" not in err
    assert list(tmp_path.iterdir()) == []


def test_too_few_stations_is_said(coaxly, recording):
    code, _, err = coaxly("replay", recording([0, 0.001], [0, 90]))
    assert code == 1 and "2 stations read, at least 3 are needed" in err


def test_setup_that_makes_no_sense_is_said(coaxly, recording):
    code, _, err = coaxly("replay", recording(EIGHT, setup={"polarity": 7}))
    assert code == 2 and "polarity is 7, but must be 1 or -1" in err


def test_every_command_is_in_the_help():
    text = build().format_help()
    assert all(command in text for command in COMMANDS)


def test_a_hand_written_recording_without_seal_or_profile_replays(coaxly, tmp_path):
    path = tmp_path / "hand.jsonl"
    path.write_text(
        '{"kind":"header","format":"coaxly-recording","version":1}\n'
        + "".join(
            f'{{"t":{k},"kind":"raw","port":"indicator","data":"{v}\\n"}}\n{{"t":{k}.1,"kind":"station","deg":{90 * k}}}\n'
            for k, v in enumerate([0.1, 0.0, -0.1, 0.0])
        )
    )
    code, out, _ = coaxly("replay", path, "--json")
    assert code == 1 and json.loads(out)["eccentricity"]["amount"] == pytest.approx(0.1)


def test_undo_in_a_recording_takes_a_station_back(coaxly, tmp_path, recording):
    text = recording([0.1, 9.9, 0.0, -0.1, 0.0], [0, 90, 90, 180, 270], unit="mm").read_text().splitlines()
    text.insert(5, '{"t":1.3,"kind":"undo"}')
    path = tmp_path / "undone.jsonl"
    path.write_text("\n".join(text))
    assert json.loads(coaxly("replay", path, "--json")[1])["stations"] == 4


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], *([name, "--help"] for name in COMMANDS)])
def test_help_answers_without_the_heavy_libraries(arguments):
    code = (
        "import sys; sys.argv=['coaxly', *sys.argv[1:]]\n"
        "from coaxly.main import main\n"
        "try: main()\nexcept SystemExit as stop: assert stop.code == 0\n"
        "loaded = {'textual', 'scipy', 'numpy', 'serial'} & set(sys.modules)\n"
        "assert not loaded, loaded"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout


HOLES = "-5.5in,-1in 5.5in,-1in"


def test_plan_with_split_pairs(coaxly, recording):
    readings = [0.0075 * c for c in (0.7071, 1, 0.7071, 0, -0.7071, -1, -0.7071, 0)]
    code, out, _ = coaxly(
        "plan", recording(readings), "--kit", "5thou,10thou,15thou", "--dowels=" + HOLES, "--hole-clearance", "1thou",
        "--rotation-limit", "0.1", "--setting", "free", "--json",
    )  # fmt: skip
    best = json.loads(out)["options"][0]
    assert code == 0 and best["pair"] == "split" and best["way"] == "free" and best["goes_on"] > 0.99
    assert best["predicted"]["tir_fitted"] < 1 * THOU
    assert abs(best["bind"]) <= 1 * THOU * 1.001 and abs(best["turn_deg"]) <= 0.1
    code, out, _ = coaxly(
        "plan", recording(readings), "--kit", "5thou,10thou", "--dowels=" + HOLES, "--pair", "parallel"
    )
    assert code == 0 and "2 x 10.0 thou" in out and "beyond common practice" not in out


def test_plan_shows_how_to_set_and_which_way_not_to_read(coaxly, recording):
    _, out, _ = coaxly("plan", recording(EIGHT), "--kit", "7thou", "--limit", "10thou")
    assert "Both dowels: 7.0 thou, high side to 1:27" in out
    assert "Seen from the FRONT the clock runs the other way" in out
    assert "face first, then bore" in out


def test_plan_takes_dowels_already_in_into_account(coaxly, recording):
    code, out, _ = coaxly(
        "plan",
        recording(EIGHT),
        "--kit",
        "7thou,14thou",
        "--limit",
        "10thou",
        "--fitted",
        "7thou@43.56",
        "--json",
    )
    best = json.loads(out)["options"][0]
    assert code == 0 and best["dowels"][0]["offset"] == pytest.approx(14 * THOU)


def test_plan_by_housing_size(coaxly, recording):
    _, out, _ = coaxly("plan", recording(EIGHT), "--kit", "7thou", "--limit", "sae1", "--json")
    assert json.loads(out)["options"][0]["probability"] > 0.9


def test_plan_of_a_face_gives_shims(coaxly, recording):
    face = recording([0.000, -0.003, -0.004, 0.009], feature="face", setup={"face_radius_mm": 120.0})
    code, out, _ = coaxly("plan", face, "--json")
    answer = json.loads(out)
    assert code == 0
    assert [s["wanted"] / 25.4 for s in answer["face"]["shims"]] == pytest.approx([0.009, 0.012, 0.013, 0.0])
    code, out, _ = coaxly(
        "plan", face, "--bolts", "6@420mm", "--shims", "2thou,5thou", "--depth", "150mm", "--pilot", "200mm",
        "--bore", recording(EIGHT),
    )  # fmt: skip
    assert code == 0
    for words in (
        "Tilt",
        "over 4 in",
        "Shims",
        "wants",
        "Shimming moves the bore",
        "At the pilot",
        "remains",
    ):
        assert words in out
    code, _, err = coaxly("plan", recording([0, 0.001, 0, 0.001], feature="face"), "--bolts", "6@420mm")
    assert code == 2 and "--face-radius" in err


def test_verify_says_what_to_fit_next(coaxly, recording):
    left = [v * 0.9 for v in EIGHT]
    code, out, _ = coaxly(
        "verify",
        recording(EIGHT),
        recording(left),
        "--fitted",
        "7thou@223",
        "--kit",
        "7thou,14thou",
        "--json",
    )
    answer = json.loads(out)
    assert code == 1 and answer["next"]["options"]
    _, out, _ = coaxly("verify", recording(EIGHT), recording(left), "--fitted", "7thou@43")
    assert "give --kit for what to fit next" in out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--kit", "5thou", "--pair", "split"], "where the dowels are"),
        ([], "--kit is missing"),
        (["--kit", "5thou", "--dowels=1,2"], "no unit"),
        (["--kit", "nope.toml"], "No such file"),
        (["--kit", "5thou", "--limit", "sae7"], "no published limit"),
    ],
)
def test_plan_mistakes(coaxly, recording, arguments, words):
    code, out, err = coaxly("plan", recording(EIGHT), *arguments)
    assert code == 2 and out == "" and words in err


def test_two_indicators_cancel_the_end_float_of_the_crank(coaxly, tmp_path):
    """The crank floats by tenths of a millimetre between stations; half the difference does not."""
    import math

    lines = [
        json.dumps(
            {"kind": "header", "format": "coaxly-recording", "version": 1, "feature": "face",
             "setup": {"face_radius_mm": 100}, "angle": {"mode": "entered", "opposite": {"unit": "mm"}}}
        )
    ]  # fmt: skip
    for k, floated in enumerate([0.0, 0.3, -0.2, 0.1, 0.25, -0.1, 0.0, 0.4]):
        tilt = 0.05 * math.cos(math.radians(45 * k - 90))
        for port, value in (("indicator", tilt + floated), ("opposite", -tilt + floated)):
            lines.append(json.dumps({"t": k, "kind": "raw", "port": port, "data": f"{value:.6f}\n"}))
        lines.append(json.dumps({"t": k + 0.1, "kind": "station", "deg": 45 * k}))
    path = tmp_path / "face.jsonl"
    path.write_text("\n".join(lines))
    result = json.loads(coaxly("replay", path, "--json")[1])
    assert result["eccentricity"]["amount"] == pytest.approx(0.05, abs=1e-6)
    assert result["eccentricity"]["high_clock"] == "3:00"


def test_what_a_sweep_cannot_see_is_stated_on_the_command_line(tmp_path):
    words = (
        "sweep --profile typed --unit mm --zero-sd 2 --lost-motion 1.5 --hysteresis 0.3thou --wander 0.5thou"
    )
    words += f" --repeatability 0.2thou --out {tmp_path / 's.jsonl'}"
    run = begin(request_of(build().parse_args(words.split())))
    run.session.writer.close()
    setup = run.pipeline.setup
    assert (setup.zero_sd_deg, setup.lost_motion_deg) == (2.0, 1.5)
    assert (setup.hysteresis_mm, setup.drift_mm) == pytest.approx((0.3 * THOU, 0.5 * THOU))
    assert setup.repeatability_mm == pytest.approx(0.2 * THOU)


def test_two_kits_at_once_and_a_hole_that_takes_one_of_them(tmp_path, capsys):
    kits = []
    for name, pin, offset, mark in (("half", "12.7mm", "5thou", 90), ("large", "16mm", "6thou", 0)):
        path = tmp_path / f"{name}.toml"
        path.write_text(f'name = "{name}"\npin = "{pin}"\nmark_deg = {mark}\nsetting = "free"\n'
                        f'[[size]]\noffset = "{offset}"\ncount = 2\n')  # fmt: skip
        kits += ["--kit", str(path)]
    found = str(RECORDINGS / "launch-found.jsonl")
    words = ["plan", found, *kits, "--dowels", "-5.5in,-1in 5.5in,-1in"]
    assert main(words) == 2
    said = capsys.readouterr()
    assert said.out == "" and "--hole says which" in said.err and said.err.count("\n") == 1
    assert main([*words, "--hole", "0.5in"]) == 0
    out = capsys.readouterr().out
    assert "2 x 5.0 thou" in out and "6.0 thou to" not in out and "mark or slot to 1:04" in out
    assert "Left aside: large, its pins of 16 mm do not fit the hole" in out
    assert "Kit half + large: pins 12.7 mm; set free; 2 x 5.0 thou there" in out
    assert "1 Put both marks there, dowels just loose enough to turn." in out
    assert main([*words, "--hole", "14mm"]) == 2
    said = capsys.readouterr()
    assert "no kit fits a dowel hole of 14 mm" in said.err and said.err.count("\n") == 1
    main([*words, "--hole", "0.5in", "--json"])
    kit = json.loads(capsys.readouterr().out)["kit"]
    assert kit["pin_mm"] == 12.7 and kit["left_aside"] == [{"kit": "large", "pin_mm": 16.0}]
    assert [size["mark_deg"] for size in kit["sizes"]] == [90.0]
