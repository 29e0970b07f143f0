"""The commands as a user meets them: output, exit codes, and one clear sentence for every mistake."""

import json
import subprocess
import sys

import pytest
from making import RECORDINGS, THOU

from tui.main import main
from tui.parser import COMMANDS, build

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
    assert code == 0 and err == "" and out.count("\n") == 1
    assert result["schema"] == "coaxly/1" and result["unit"] == "mm"
    assert result["tir"]["fitted"] == pytest.approx(0.29618, abs=1e-5)


def test_replay_in_words(coaxly, recording):
    code, out, _ = coaxly("replay", recording(EIGHT))
    assert code == 0
    assert "11.7 thou TIR" in out and "towards 1:27" in out and "OUTSIDE" in out
    assert "0.148 mm" in coaxly("replay", recording(EIGHT), "--in", "mm")[1]


def test_several_recordings_give_one_surer_result(coaxly, recording):
    once, again = recording(EIGHT), recording([v + 0.05 for v in EIGHT])
    single = json.loads(coaxly("replay", once, "--json")[1])
    code, out, _ = coaxly("replay", once, again, "--json")
    both = json.loads(out)
    assert code == 0 and both["stations"] == 16
    assert both["eccentricity"]["u95_amount"] < single["eccentricity"]["u95_amount"]
    outside = recording(EIGHT, setup={"surface": "outside"})
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
    code, out, _ = coaxly("verify", found, left, "--offset", "7thou", "--deg", "0", "--json")
    answer = json.loads(out)
    assert code == 0 and answer["schema"] == "coaxly/1"
    assert answer["planned"]["amount"] == pytest.approx(7 * THOU)
    assert answer["measured"]["clock"] == "12:00"
    assert answer["difference"]["within"] is True
    assert set(answer["finding"]) == {"cause", "probability", "words"}
    code, out, _ = coaxly("verify", found, left)
    assert code == 0 and "Measured shift" in out and "Planned" not in out


def test_ports(coaxly):
    code, out, _ = coaxly("ports", "--json")
    assert code == 0 and isinstance(json.loads(out)["ports"], list)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["replay", "nowhere.jsonl"], "nowhere.jsonl: No such file"),
        (["plan", "x.jsonl", "--kit", "5"], "'5' has no unit: write 5thou or 5mm"),
        (["plan", "x.jsonl"], "--kit"),
        (["sweep"], "--port is missing"),
        (["sweep", "--port", "/dev/null", "--stations", "2"], "choose 3 to 360"),
        (["sweep", "--port", "x", "--profile", "nope"], "profile nope: not known"),
        (["sweep", "--port", "x", "--angle", "encoder"], "--encoder PORT"),
        (["sweep", "--port", "x", "--limit", "5"], "has no unit"),
        (["verify", "a", "b", "--offset", "5thou"], "belong together"),
        (["demo", "--speed", "0"], "above 0"),
        (["fly"], "invalid choice"),
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
    assert code == 2 and "2 stations read, at least 3 are needed" in err


def test_setup_that_makes_no_sense_is_said(coaxly, recording):
    code, _, err = coaxly("replay", recording(EIGHT, setup={"polarity": 7}))
    assert code == 2 and "polarity is 7, but must be 1 or -1" in err


def test_every_command_is_in_the_help_and_the_readme():
    readme = (RECORDINGS.parent / "README.md").read_text(encoding="utf-8")
    text = build().format_help()
    for command in COMMANDS:
        assert command in text and f"coaxly {command}" in readme


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
    assert code == 0 and json.loads(out)["eccentricity"]["amount"] == pytest.approx(0.1)


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
        "from tui.main import main\n"
        "try: main()\nexcept SystemExit as stop: assert stop.code == 0\n"
        "loaded = {'textual', 'scipy', 'numpy', 'serial'} & set(sys.modules)\n"
        "assert not loaded, loaded"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout
