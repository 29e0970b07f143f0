"""`coaxly listen --encoder`: a person turns the crank once, says what is open, and the encoder is known."""

import asyncio
import io

import clockwork
import pytest
from carrying import Unhurried

from coaxly.commands import listen
from coaxly.logger.clock import SessionClock
from coaxly.logger.profile import load
from coaxly.logger.rig.rigport import RigPort
from coaxly.main import main
from coaxly.plain import dialasking


class Bench:
    """An encoder, and a person who turns it when told to, by `degrees` in 200 lines, and types `answers`."""

    def __init__(self, line, answers, degrees=360.0):
        self.line, self.answers, self.degrees = line, list(answers), degrees
        self.words, self._turning, self._k = [], False, 0

    def message(self, words):
        self.words.append(words)
        if "clockwise" in words:
            self._turning, self._k = True, 0

    def sends(self, t):
        self._k += self._turning
        return self.line(self.degrees * min(self._k, 120) / 120).encode("latin-1")

    def readline(self):
        return self.answers.pop(0) if self.answers else ""


@pytest.fixture
def heard(monkeypatch, capsys, tmp_path):
    """Run the command at a bench: exit code, what was said, and the profile that was written, if any."""

    def run(bench, *options):
        stdin = io.StringIO()
        monkeypatch.setattr(stdin, "isatty", lambda: True, raising=False)
        monkeypatch.setattr(stdin, "readline", bench.readline, raising=False)
        monkeypatch.setattr("sys.stdin", stdin)
        monkeypatch.setattr(dialasking, "message", bench.message)
        asked = dialasking.encoder_asked

        async def at_a_port(port, *rest):
            async with RigPort(Unhurried(bench.sends), SessionClock()) as line:
                return await asked(line.url, *rest)

        monkeypatch.setattr(listen, "encoder_asked", at_a_port)
        monkeypatch.setattr(asyncio, "run", clockwork.run)
        out = tmp_path / "crank.toml"
        options = ["--baud", "115200", "--out", str(out), *options]
        code = main(["listen", "/dev/crank", "--encoder", *options])
        return code, "".join(capsys.readouterr()), load(str(out)) if out.exists() else None

    return run


def test_a_wrap_in_the_turn_is_found_and_what_is_offered_is_confirmed(heard):
    bench = Bench(lambda deg: f"{(1000 - round(deg / 360 * 4096)) % 65536}\r\n", ["\n"])
    code, said, profile = heard(bench)
    assert code == 0, said
    assert (profile.counts_per_turn, profile.wrap, profile.direction) == (4096.0, 65536.0, -1)
    assert "are they 4096 for one turn" in bench.words[-1]
    assert "--angle encoder --encoder /dev/crank --encoder-profile" in said


def test_degrees_are_told_from_counts(heard):
    code, _, profile = heard(Bench(lambda deg: f"{(deg + 350) % 360:05.1f}\xb0\r\n", ["\n"]))
    assert code == 0 and (profile.counts_per_turn, profile.wrap, profile.direction) == (360.0, 360.0, 1)


def test_a_wrap_that_did_not_show_is_asked(heard):
    bench = Bench(lambda deg: f"{0x1000 + round(deg / 360 * 3300):04X}\r\n", ["3300\n", "65536\n"])
    code, _, profile = heard(bench)
    assert code == 0 and "no usual number" in bench.words[-2] and "did not start anew" in bench.words[-1]
    assert (profile.counts_per_turn, profile.wrap, profile.base) == (3300.0, 65536.0, 16)


def test_what_is_said_must_be_what_came(heard):
    bench = Bench(lambda deg: f"{round(deg / 360 * 4096)}\r\n", ["1024\n", "word\n", "4096\n", "\n"])
    code, _, profile = heard(bench)
    assert code == 0 and profile.counts_per_turn == 4096.0 and profile.wrap == 0.0
    assert any("which is not 1024" in words for words in bench.words)


@pytest.mark.parametrize(
    ("degrees", "answers", "said"),
    [(0.0, [], "told nothing that can be believed"), (360.0, [], "nobody answers")],
    ids=["nobody turns", "nobody answers"],
)
def test_nothing_is_kept_that_was_not_said_and_seen(heard, degrees, answers, said):
    code, words, profile = heard(Bench(lambda deg: f"{round(deg * 10)}\r\n", answers, degrees))
    assert code != 0 and said in words and profile is None


def test_without_a_terminal_nobody_is_asked(monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin", io.StringIO())
    assert main(["listen", "/dev/crank", "--encoder"]) == 2
    assert "run it on a terminal" in capsys.readouterr().err
