"""One request for a sweep, whoever asks: its header holds what was asked for, and nothing else."""

import ast
from pathlib import Path

import pytest

import coaxly
from coaxly.commands.sweep import request_of
from coaxly.entry.instruments import dial_at
from coaxly.errors import UsageError
from coaxly.fitter import Setup
from coaxly.job.sweep.begin import begin
from coaxly.job.sweep.request import SweepRequest
from coaxly.job.sweep.resume import resume
from coaxly.job.sweep.schedule import Plan
from coaxly.logger.angle.encoder import AngleError, EncoderScale
from coaxly.logger.angle.source import AngleSource, Source, stations_due
from coaxly.logger.profile import built_in
from coaxly.logger.recording.reader import RecordingReader
from coaxly.logger.recording.records import ENCODER, INDICATOR, OPPOSITE
from coaxly.parser import build

TUI = Path(coaxly.__file__).parent


def asked(words):
    return request_of(build().parse_args(["sweep", *words.split()]))


def header(request, path):
    run = begin(SweepRequest(**{n: getattr(request, n) for n in request.__slots__} | {"out": path}))
    run.session.writer.close()
    with RecordingReader(path) as reader:
        return reader.header, run, run.sources


def test_the_screen_and_the_command_line_ask_for_the_same():
    on_the_screen = SweepRequest(
        dial=dial_at("/dev/x", "stream-decimal", "in"), setup=Setup.from_header({}, "face"), job="van"
    )
    assert asked("--port /dev/x --unit in --feature face --job van") == on_the_screen


def test_setup_and_angles_come_back_from_the_header_as_they_were_asked_for(tmp_path):
    request = asked(
        "--port a --unit mm --angle encoder --encoder b --counts-per-turn 2400 --ratio 0.25 --direction -1 "
        "--sag=-2thou --limit 13thou --view front --zero 12.5 --zero-sd 0"
    )
    found, run, sources = header(request, tmp_path / "s.jsonl")
    assert Setup.from_header(found.setup, found.feature) == request.setup_in_use == run.pipeline.setup
    assert AngleSource.from_header(found.angle) == request.angle
    assert request.angle.scale == EncoderScale(2400.0, 0.0, 0.25, -1)
    assert set(sources) == {INDICATOR, ENCODER} and not run.schedule.plan.closing
    assert found.setup["limit_source"] == "" and "mpe_mm" not in found.setup


def test_every_setup_survives_its_header():
    setup = Setup(
        feature="face", calibration=((0.0, 0.0), (1.0, 0.01)), limit_mm=0.2, limit_source="ours",
        repeatability_freedom=5.0, hidden_form_mm=0.0,
    )  # fmt: skip
    assert Setup.from_header(setup.to_header(), "face") == setup
    assert Setup.from_header(Setup().to_header()) == Setup()


def test_a_second_dial_talks_as_the_first(tmp_path):
    found, run, sources = header(asked("--port a --opposite b --unit in --stations 6"), tmp_path / "s.jsonl")
    assert sources[OPPOSITE] == Source("b", sources[INDICATOR].profile)
    assert found.angle["stations"] == 6 and run.pipeline.angle.opposite.unit == "in"


def test_a_second_indicator_that_would_not_count_is_refused_in_words(tmp_path):
    profile = tmp_path / "two.toml"
    profile.write_text(r"pattern = '(?P<value>[+-]?[\d.]+);(?P<opposite>[+-]?[\d.]+)'" + '\nunit = "mm"\n')
    for mode in ("combined", "encoder --encoder b"):
        request = asked(f"--port a --profile {profile} --angle {mode} --out {tmp_path / 's.jsonl'}")
        with pytest.raises(UsageError, match="two indicators work with stations that are stopped at"):
            begin(request)
        assert not (tmp_path / "s.jsonl").exists()


def test_readings_that_are_typed_need_no_port(tmp_path):
    found, run, sources = header(asked("--profile typed --unit mm --dwell 3"), tmp_path / "s.jsonl")
    assert sources == {} and found.setup["dwell_s"] < 0.5 and run.schedule.plan == Plan()


@pytest.mark.parametrize(
    "scale", ["", "--sense ccw", "--view front", "--view front --sense ccw", "--feature pilot --limit 2thou"]
)
@pytest.mark.parametrize(("turn", "places"), [("cw", [0, 90, 180, 270, 0]), ("ccw", [0, 270, 180, 90, 0])])
def test_places_are_called_as_the_crank_comes_by_them(scale, turn, places, tmp_path):
    """However its scale counts; and after a break as before."""
    path = tmp_path / "s.jsonl"
    words = f"--profile typed --unit mm --stations 4 --turn {turn} {scale} --out {path}"
    run = begin(asked(words))
    try:
        assert called_out(run) == places
    finally:
        run.session.writer.close()
    gone_on, _, _ = resume(path)
    gone_on.session.writer.close()
    assert called_out(gone_on) == places and [due.closing for due in gone_on.schedule.due] == [False] * 4 + [
        True
    ]
    gone_on.schedule.add_turn(back=True)
    assert called_out(gone_on)[5:] == places[::-1]


def called_out(run):
    """Where the crank's mark stands at each place that is due, clockwise from 12, seen from behind."""
    setup = run.pipeline.setup
    return [round(setup.crank_deg(setup.internal_deg(due.deg))) % 360 for due in run.schedule.due]


@pytest.mark.parametrize("mode", ["typed", 3, None, ["entered"]])
def test_an_unknown_source_of_angles_is_named(mode):
    with pytest.raises(AngleError, match=r"angle: mode is .* must be one of entered, combined, encoder"):
        AngleSource.from_header({"mode": mode})


@pytest.mark.parametrize("stations", [2, 361, True, "8", 8.0, None])
def test_stations_that_make_no_sense_matter_only_to_a_sweep_that_goes_on(stations):
    assert AngleSource.from_header({"stations": stations}).stations is None
    with pytest.raises(AngleError, match="must be 3 to 360"):
        stations_due({"stations": stations})
    assert stations_due({}) == 8


def test_no_profile_is_made_up_where_the_header_names_one():
    counts = built_in("encoder-counts")
    angle = AngleSource(mode="encoder", encoder=counts)
    assert AngleSource.from_header(angle.to_header()).encoder_profile == counts
    assert AngleSource.from_header({}).encoder_profile.name == "encoder-degrees"


def test_what_an_encoders_profile_says_of_its_counts_is_used_unless_somebody_says_otherwise(tmp_path):
    path = tmp_path / "crank.toml"
    path.write_text(
        "pattern = '(?P<value>-?[0-9]+)'\ncounts_per_turn = 4096.0\nwrap = 65536.0\ndirection = -1\n"
    )
    words = f"--port /dev/d --unit mm --angle encoder --encoder /dev/e --encoder-profile {path}"
    assert asked(words).scale == EncoderScale(4096.0, 65536.0, direction=-1)
    other = asked(f"{words} --direction 1 --counts-per-turn 1000")
    assert other.scale == EncoderScale(1000.0, 65536.0, direction=1)


@pytest.mark.parametrize("folder", ["screens", "job"])
def test_what_works_below_knows_no_command(folder):
    for path in sorted((TUI / folder).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                assert "commands" not in (node.module or ""), path
                assert "parser" not in (node.module or "").split("."), path


@pytest.mark.parametrize(
    ("feature", "name"), [("face", "van-face-found-1.jsonl"), ("bore", "van-found-1.jsonl")]
)
def test_a_face_is_told_from_a_bore_by_the_name_of_its_file(feature, name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    run = begin(asked(f"--port /dev/x --unit in --feature {feature} --job van"))
    run.session.writer.close()
    assert [path.name for path in tmp_path.iterdir()] == [name]
