"""Input that means harm: one clear error or a right result, in bounded time and memory."""

import json

import pytest
from bench.fuzz import run
from making import header_line

from logger.errors import RecordingError
from logger.profile import ProfileError, load
from logger.reader import RecordingReader
from tui.main import main


def test_broken_files_and_bytes_end_in_words_or_results():
    """A smaller run of tests/bench/fuzz.py."""
    counts, _ = run(3000, seed=7)
    assert counts["words"] > 500 and counts["result"] > 500


def test_a_huge_line_is_refused_unread(tmp_path):
    path = tmp_path / "r.jsonl"
    with path.open("wb") as file:
        file.write(header_line().encode() + b"\n")
        file.seek(1 << 30, 1)  # a sparse gigabyte of zeros
        file.write(b"\n")
    with pytest.raises(RecordingError, match="too long"):
        for _ in RecordingReader(path).blocks():
            pass
    assert main(["audit", str(path)]) == 1


def test_many_stations_are_taken_or_refused_in_time(tmp_path, capsys):
    path = tmp_path / "r.jsonl"
    with path.open("w") as file:
        file.write(header_line(angle={"mode": "entered"}) + "\n")
        for k in range(2000):
            file.write(f'{{"t":{k},"kind":"raw","port":"indicator","data":"0.{k % 7}\\n"}}\n')
            file.write(f'{{"t":{k}.1,"kind":"station","deg":{(k * 7) % 360}}}\n')
    assert main(["replay", str(path), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["stations"] > 1000
    with path.open("a") as file:
        for k in range(2000, 5100):
            file.write(f'{{"t":{k},"kind":"raw","port":"indicator","data":"0.{k % 7}\\n"}}\n')
            file.write(f'{{"t":{k}.1,"kind":"station","deg":{(k * 7) % 360}}}\n')
    assert main(["replay", str(path)]) == 2
    assert "more than 5000 stations" in capsys.readouterr().err


def test_control_characters_of_a_file_do_not_reach_the_terminal(tmp_path, capsys):
    path = tmp_path / "r.jsonl"
    path.write_text(header_line(setup={"surface": "\x1b[2Jevil"}) + "\n")
    assert main(["replay", str(path)]) == 2
    assert "\x1b" not in capsys.readouterr().err
    path.write_text(header_line(format_="x").replace("coaxly-recording", "\\u001b[31m") + "\n")
    assert main(["replay", str(path)]) == 2
    assert "\x1b" not in capsys.readouterr().err


def test_a_job_name_cannot_leave_the_folder(tmp_path, monkeypatch):
    import argparse

    from tui.commands.sweep import _path

    monkeypatch.chdir(tmp_path)
    path = _path(argparse.Namespace(out=None, job="../../etc/pass wd\x00", stage="/x"))
    assert path.parent == path.parent.__class__(".") and "/" not in path.name


def test_a_profile_that_would_explode_is_refused(tmp_path):
    path = tmp_path / "p.toml"
    path.write_text("pattern = '''(?P<value>(x{900}){900})'''\n")
    with pytest.raises(ProfileError):
        load(str(path))
