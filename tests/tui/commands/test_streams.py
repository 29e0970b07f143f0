"""Standard input, output or error that is closed, or on a full disk: one sentence, and exit code 3."""

import sys
from pathlib import Path

import pytest
from making import RECORDINGS

from coaxly.main import main

FOUND = str(RECORDINGS / "launch-found.jsonl")
ASKED = [("replay", FOUND), ("replay", FOUND, "--json"), ("--help",), ("--version",), ("sweep", "--help")]
FULL = Path("/dev/full")


def ends(*words):
    try:
        return main(list(words))
    except SystemExit as stop:
        return stop.code


def one_sentence(err, words):
    assert words in err and err.startswith("coaxly: ") and err.count("\n") == 1


@pytest.mark.parametrize("words", ASKED)
def test_an_answer_that_nobody_can_get_is_said(words, monkeypatch, capsys):
    monkeypatch.setattr(sys, "stdout", None)
    assert ends(*words) == 3
    one_sentence(capsys.readouterr().err, "standard output is closed")


@pytest.mark.skipif(not FULL.exists(), reason="this system has no full disk to try")
@pytest.mark.parametrize("words", ASKED)
def test_an_answer_that_the_disk_does_not_take_is_said(words, monkeypatch, capsys):
    with FULL.open("w") as full:
        monkeypatch.setattr(sys, "stdout", full)
        assert ends(*words) == 3
    one_sentence(capsys.readouterr().err, "No space left on device")


def test_a_sweep_that_nobody_can_type_into_is_not_begun(monkeypatch, capsys, tmp_path):
    monkeypatch.setattr(sys, "stdin", None)
    path = tmp_path / "x.jsonl"
    typed = ("--profile", "typed", "--unit", "thou", "--headless", "--out", str(path))
    assert ends("sweep", *typed) == 3 and not path.exists()
    one_sentence(capsys.readouterr().err, "standard input is closed")


@pytest.mark.parametrize("stream", ["stdin", "stderr"])
def test_a_replay_needs_only_its_output(stream, monkeypatch, capsys):
    monkeypatch.setattr(sys, stream, None)
    assert ends("replay", FOUND) == 1 and ends("replay", "nowhere.jsonl") == 2
    assert "run-out" in capsys.readouterr().out.casefold()
