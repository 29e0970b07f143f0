"""`coaxly listen`: what it says of a line, what it asks, what it writes, and what comes next."""

import asyncio
import io
import json

import pytest

from coaxly.commands import listen
from coaxly.job.many import allports as earshot
from coaxly.logger.profile import load
from coaxly.main import main

BARE = b"".join(b"+%08.4f\r\n" % (0.0112 + 1e-4 * (k % 3)) for k in range(9))
CLOCKED = b"".join(b"%d,%.4f\r\n" % (2300 + 10 * k, 0.0112 + 1e-4 * (k % 3)) for k in range(9))
PAIRS = b"045.0,+0.2500\r\n" * 9
PUSHED = b"".join(b"045.0,%+.4f\r\n" % (0.25 + 0.1 * (k % 3)) for k in range(9))
TURNED = b"".join(b"%05.1f,+0.2500\r\n" % (45 + 7.5 * k) for k in range(9))


@pytest.fixture
def line(monkeypatch, capsys, tmp_path):
    """Run the command against captures that are handed out one by one."""
    monkeypatch.chdir(tmp_path)

    def run(captures, *arguments, typed=None):
        waiting = list(captures)

        async def capture(port, line, seconds):
            return waiting.pop(0) if waiting else b""

        monkeypatch.setattr(listen, "capture", capture)
        stdin = io.StringIO(typed or "")
        monkeypatch.setattr(stdin, "isatty", lambda: typed is not None, raising=False)
        monkeypatch.setattr("sys.stdin", stdin)
        code = main(["listen", "/dev/dial", *arguments])
        return code, *capsys.readouterr()

    return run


def test_a_dial_whose_lines_say_no_unit_needs_it_said(line, tmp_path):
    code, out, _ = line([BARE])
    assert code == 0 and "no line says its unit" in out and "mm" not in out.split("no line")[0]
    assert "next: coaxly listen /dev/dial --unit mm|in --out dial.toml" in out
    code, out, err = line([BARE], "--out", "d.toml")
    assert code == 2 and out == "" and "nothing was written: add --unit mm or --unit in" in err
    assert not (tmp_path / "d.toml").exists()
    code, out, _ = line([BARE], "--out", "d.toml", "--unit", "in")
    assert code == 0 and load("d.toml").unit == "in"
    assert "next: coaxly sweep --port /dev/dial --profile d.toml" in out


def test_on_a_terminal_the_unit_is_asked_for(line):
    code, _, err = line([BARE], "--out", "d.toml", typed="inch\n")
    assert code == 0 and "mm or in" in err and load("d.toml").unit == "in"


def test_a_clock_is_said_to_be_one(line):
    code, out, _ = line([CLOCKED], "--unit", "in", "--out", "d.toml")
    assert code == 0 and "counts up: a clock" in out and "deg" not in out and "--angle" not in out
    assert "angle" not in load("d.toml").regex.groupindex


def test_what_remains_open_is_asked_and_nothing_is_written(line, tmp_path):
    code, out, _ = line([PAIRS], "--unit", "in", "--out", "d.toml")
    assert code == 1 and "OPEN: field 1 (045.0)" in out and "--fields" in out
    assert not (tmp_path / "d.toml").exists()
    answer = json.loads(line([PAIRS], "--unit", "in", "--json")[1])
    assert "which of them is the reading" in answer["open"] and answer["written"] is None


def test_somebody_who_knows_says_it(line):
    code, out, _ = line([PAIRS], "--unit", "in", "--out", "d.toml", "--fields", "angle,value")
    assert code == 0 and "--angle combined" in out and "angle" in load("d.toml").regex.groupindex
    code, _, err = line([PAIRS], "--unit", "in", "--fields", "value")
    assert code == 2 and "hold 2 numbers" in err
    with pytest.raises(SystemExit) as stop:
        line([PAIRS], "--fields", "dial")
    assert stop.value.code == 2


def test_on_a_terminal_the_plunger_and_the_crank_answer(line):
    code, out, err = line([PAIRS, PUSHED, TURNED], "--unit", "in", "--out", "d.toml", typed="")
    assert code == 0 and "Push the dial's plunger" in err and "turn the crank" in err
    assert "OPEN" not in out and load("d.toml").regex.groupindex.keys() == {"angle", "value"}


def test_garbage_is_a_finding_and_silence_a_failure(line):
    assert line([b"\x80\x00\xf8" * 40] * 99)[0] == 1
    assert line([b""] * 99)[0] == 3


@pytest.fixture
def speaking(monkeypatch, simulated_time):
    """Sources that speak at the times told, counted from when they are opened."""

    def speak(*lines):
        class Source:
            def __init__(self, url, profile, on_data, on_link):
                self._on_data = on_data

            async def run(self):
                begun = asyncio.get_running_loop().time()
                for at, data in lines:
                    await asyncio.sleep(begun + at - asyncio.get_running_loop().time())
                    self._on_data(data)
                await asyncio.Event().wait()

        monkeypatch.setattr(earshot, "SerialSource", Source)

    return speak


def test_a_dial_that_answers_late_is_waited_for(speaking, tmp_path, monkeypatch, capsys):
    """A busy machine: the first answer comes at the last moment, the others long after it."""
    monkeypatch.chdir(tmp_path)
    speaking((0.45, b"+0.0112\r"), *((0.8 + 0.1 * k, b"+0.0113\r") for k in range(12)))
    assert main(["listen", "/dev/dial", "--seconds", "0.5", "--unit", "in", "--baud", "9600"]) == 0
    out, err = capsys.readouterr()
    assert "one decimal a line" in out and err.count("listening at") == 1


def test_a_setting_that_asks_gets_time_for_a_few_answers(speaking, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    speaking(*((0.5 + 0.05 * k, b"+0.0113\r") for k in range(12)))
    assert main(["listen", "/dev/dial", "--seconds", "0.02", "--unit", "in", "--baud", "9600"]) == 0
    assert "asked with" in capsys.readouterr().out
