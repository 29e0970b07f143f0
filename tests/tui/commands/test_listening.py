"""`coaxly listen`: what it says of a line, what it asks, what it writes, and what comes next."""

import asyncio
import io
import itertools
import json
import math
import shlex

import pytest

from coaxly.commands import listen
from coaxly.job.many import openline
from coaxly.logger.profile import load
from coaxly.main import main

BARE = [b"+%08.4f\r\n" % (0.0112 + 1e-4 * (k % 3)) for k in range(9)]
STILL = [b"+0000.0112\r\n"]
CLOCKED = [b"%d,%.4f\r\n" % (2300 + 10 * k, 0.0112 + 1e-4 * (k % 3)) for k in range(900)]
PAIRS = [b"045.0,+0.2500\r\n"]
COUNTS = [b"%d\r\n" % round(100 + 90 * math.sin(k / 3)) for k in range(900)]


class Terminal(io.StringIO):
    """Standard input, of a person at a terminal or of a program."""

    def __init__(self, text, person):
        super().__init__(text)
        self._person = person

    def isatty(self):
        return self._person


@pytest.fixture
def line(monkeypatch, capsys, tmp_path, simulated_time):
    """Run the command at a dial that says what it is told to, ten lines a second, for ever."""
    monkeypatch.chdir(tmp_path)

    def run(lines, *arguments, typed=None):
        class Source:
            def __init__(self, url, profile, on_data, on_link, *more):
                self._on_data, self._on_link = on_data, on_link

            def send(self, data):
                """Nobody there."""

            async def run(self):
                self._on_link("up")
                for each in itertools.cycle(lines) if lines else ():
                    self._on_data(each)
                    await asyncio.sleep(0.1)
                await asyncio.Event().wait()

        monkeypatch.setattr(openline, "SerialSource", Source)
        monkeypatch.setattr("sys.stdin", Terminal(typed or "", typed is not None))
        code = main(["listen", "/dev/dial", *arguments])
        return code, *capsys.readouterr()

    return run


def test_a_dial_whose_lines_say_no_unit_needs_it_said(line, tmp_path):
    code, out, _ = line(BARE)
    assert code == 0 and "no line says its unit" in out and "mm" not in out.split("no line")[0]
    assert "next: coaxly listen /dev/dial --unit mm|in --out dial.toml" in out
    code, out, err = line(BARE, "--out", "d.toml")
    assert code == 2 and out == "" and "nothing was written: add --unit mm or --unit in" in err
    assert not (tmp_path / "d.toml").exists()
    code, out, _ = line(BARE, "--out", "d.toml", "--unit", "in")
    assert code == 0 and load("d.toml").unit == "in"
    assert "next: coaxly sweep --port /dev/dial --profile d.toml" in out


def test_a_clock_is_said_to_be_one(line):
    code, out, _ = line(CLOCKED, "--unit", "in", "--out", "d.toml")
    assert code == 0 and "counts up: a clock" in out and "deg" not in out and "--angle" not in out
    assert "angle" not in load("d.toml").regex.groupindex


def test_what_remains_open_is_asked_and_nothing_is_written(line, tmp_path):
    code, out, _ = line(PAIRS, "--unit", "in", "--out", "d.toml")
    assert code == 1 and "OPEN: Push the plunger in and out" in out and "--fields" in out
    assert not (tmp_path / "d.toml").exists()
    answer = json.loads(line(PAIRS, "--unit", "in", "--json")[1])
    assert "has followed it" in answer["open"] and answer["written"] is None


def test_somebody_who_knows_says_it(line):
    code, out, _ = line(PAIRS, "--unit", "in", "--out", "d.toml", "--fields", "angle,value")
    assert code == 0 and "--angle combined" in out and "angle" in load("d.toml").regex.groupindex
    code, _, err = line(PAIRS, "--unit", "in", "--fields", "value")
    assert code == 2 and "hold 2 numbers" in err
    with pytest.raises(SystemExit) as stop:
        line(PAIRS, "--fields", "dial")
    assert stop.value.code == 2


def test_a_dial_that_never_moved_is_not_taken_by_a_program(line, tmp_path):
    code, out, _ = line(STILL, "--unit", "in", "--out", "d.toml")
    assert code == 1 and "OPEN" in out and not (tmp_path / "d.toml").exists()
    assert "next: push the plunger in and out while this runs" in out and "writes it down" not in out
    assert "--unit in --out d.toml" in out
    assert line(STILL, "--unit", "in", "--out", "d.toml", "--fields", "value")[0] == 0


def test_counts_want_a_scale(line, tmp_path):
    code, out, _ = line(COUNTS, "--unit", "mm", "--out", "d.toml")
    assert code == 1 and "--scale" in out and not (tmp_path / "d.toml").exists()
    assert line(COUNTS, "--unit", "mm", "--out", "d.toml", "--scale", "0.005")[0] == 0
    assert load("d.toml").scale == 0.005


def test_a_line_that_only_says_hold_is_told_by_name(line):
    code, _, err = line([b"+0.0112 mm HOLD\r\n"])
    assert code == 1 and "is on hold" in err and "Take it off hold" in err


def test_a_line_setting_may_be_said(line):
    code, out, err = line(BARE, "--unit", "in", "--parity", "O", "--request", r"R\x05", "--baud", "300")
    assert code == 0 and "300 baud 7O1, asked with 'R\\x05'" in out and err.count("listening") == 1
    with pytest.raises(SystemExit):
        line(BARE, "--request", r"\x")


def test_what_was_said_is_in_what_is_to_be_typed_next(line):
    typed = (
        r"--baud 4800 --parity E --terminator '\r' --request 'R \x05' --unit mm --fields value --scale 0.005"
    )
    _, out, err = line(COUNTS, *shlex.split(typed))
    assert f"next: coaxly listen /dev/dial {typed} --out dial.toml" in out, err


def test_a_profile_that_somebody_wrote_is_explained_against_what_comes(line, tmp_path, monkeypatch):
    def speaks(data):
        async def heard(port, profile, seconds):
            return data

        monkeypatch.setattr(listen, "heard_for", heard)

    (tmp_path / "own.toml").write_text('unit = "mm"\npattern = "P (?P<value>[+-][0-9.]+)"\n')
    speaks(b"0.5\r\nP +0.512\r\nP +0.512 mm\r\nOVER\r\nhello\r\nP +\r\nP +0.513\r\n")
    code, out, _ = line([], "--profile", "own.toml")
    assert code == 1 and "2 of 6 lines: read" in out and "'P +0.512': 0.512 mm" in out
    assert "'P +0.512 mm': fits the pattern as far as 'P +0.512': character 9, ' ', is not" in out
    assert "'hello': character 1, 'h', is not what the pattern wants there" in out
    assert (
        "'P +': it ends where the pattern wants more" in out and "'OVER': the dial is over its range" in out
    )
    speaks(b"P +0.1\r\nP +0.512\r\nOVER\r\n")
    assert line([], "--profile", "own.toml")[0] == 0
    assert line([], "--profile", "none.toml")[0] == 2 == line([], "--profile", "own.toml", "--json")[0]


def test_garbage_is_a_finding_and_silence_a_failure(line):
    assert line([b"\x80\x00\xf8" * 40], "--baud", "9600")[0] == 1
    assert line([], "--baud", "9600")[0] == 3


@pytest.fixture
def speaking(monkeypatch, simulated_time):
    """Sources that speak at the times told, counted from when they are opened."""

    def speak(*lines):
        class Source:
            def __init__(self, url, profile, on_data, on_link):
                self._on_data, self._on_link = on_data, on_link

            def send(self, data):
                """Nobody there."""

            async def run(self):
                self._on_link("up")
                begun = asyncio.get_running_loop().time()
                for at, data in lines:
                    await asyncio.sleep(begun + at - asyncio.get_running_loop().time())
                    self._on_data(data)
                await asyncio.Event().wait()

        monkeypatch.setattr(openline, "SerialSource", Source)

    return speak


def test_a_dial_that_answers_late_is_waited_for(speaking, tmp_path, monkeypatch, capsys):
    """A busy machine: the first answer comes at the last moment, the others long after it."""
    monkeypatch.chdir(tmp_path)
    speaking((0.45, b"+0.0112\r"), *((0.8 + 0.1 * k, b"+0.011%d\r" % (k % 3)) for k in range(12)))
    assert main(["listen", "/dev/dial", "--seconds", "0.5", "--unit", "in", "--baud", "9600"]) == 0
    out, err = capsys.readouterr()
    assert "value" in out and err.count("listening at") == 1
