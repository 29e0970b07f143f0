"""The voice: what it says, when, and that it really speaks where espeak-ng is there."""

import dataclasses
import io
import shutil
import stat
import sys
import time
import wave

import clockwork
import numpy as np
import pytest
from making import RECORDINGS
from screening import leave, until

from coaxly.errors import UsageError
from coaxly.fitter.geometry import InternalDeg
from coaxly.job.demo.rehearsal import Rehearsal
from coaxly.job.recorded.pipeline import replay
from coaxly.job.sweep.news import Do, News, Task, What
from coaxly.main import main
from coaxly.say.sweep.aloud import aloud, finding_aloud
from coaxly.screens.app import CoaxlyApp
from coaxly.screens.rehearsing import rehearse
from coaxly.voice import VARIABLE, Speaker, Voice, find_voice

FOUND = RECORDINGS / "launch-found.jsonl"


@pytest.mark.parametrize(
    ("written", "spoken"),
    [
        ("turn to 1:30 and stop", "turn to 1 30 and stop"),
        ("turn to 12:00 and stop", "turn to 12 o'clock and stop"),
        ("at 5:05 seen from behind", "at 5 oh 5 seen from behind"),
        ("run-out 5.8 thou", "run-out 5.8 thousandths"),
        ("step 10.0 thou under the tip", "step 10 thousandths under the tip"),
        ("off by 0.0230 in (half of it)", "off by 0.0230 inches"),
        ("0.127 mm +- 3 um", "0.127 millimetres plus or minus 3 micrometres"),
        ("all stations read: finish (F, or done), or undo one", "all stations read: finish, or undo one"),
        ("turn the crank in order", "turn the crank in order"),
        ("! the dial TIR", "the dial T I R"),
        ("--voice", "voice"),
    ],
)
def test_what_is_written_for_the_eye_is_said_for_the_ear(written, spoken):
    assert aloud(written) == spoken


class Heard:
    def __init__(self):
        self.said = []

    def say(self, words):
        self.said.append(words)


@dataclasses.dataclass
class Look:
    """As much of a view as is listened to."""

    task: Task
    news: News | None = None


def turn(deg):
    return Task(Do.TURN_TO, InternalDeg(deg))


def test_each_thing_is_said_once_what_happened_before_what_is_to_be_done():
    voice = Heard()
    speaker = Speaker(voice)
    taken = News(What.TAKEN, InternalDeg(0.0))
    for view in (
        Look(turn(0.0)),
        Look(turn(0.0)),
        Look(Task(Do.WAIT_FOR_REST)),
        Look(turn(0.0)),
        Look(turn(45.0), taken),
        Look(turn(45.0), taken),
    ):
        speaker.look(view, "thou")
    assert voice.said == ["turn to 12 o'clock and stop", "station 12 o'clock taken. turn to 1 30 and stop"]


def test_a_verdict_is_said_once_and_nothing_after_it():
    voice, result = Heard(), replay(FOUND).result()
    speaker = Speaker(voice)
    for _ in range(3):
        speaker.look(Look(Task(Do.OVER)), "thou", result)
    assert len(voice.said) == 1
    assert voice.said[0].startswith("Outside the limit. bore run-out ")
    assert "the housing must move" in voice.said[0] and "thousandths" in voice.said[0]


def test_of_what_turns_with_the_crank_no_housing_is_spoken():
    result = dataclasses.replace(replay(FOUND).result(), feature="pilot")
    words = finding_aloud(result, "mm")
    assert "housing" not in words and "pilot bore run-out" in words and "millimetres" in words


def program(folder, text, name="speaks"):
    """A program of this name that does what a voice does."""
    path = folder / name
    path.write_text(f"#!{sys.executable}\n{text}")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return path


def test_a_sweep_is_spoken_to_its_end_by_whatever_program_is_named(tmp_path, monkeypatch, capsys):
    log = tmp_path / "said"
    speaks = program(tmp_path, f"import sys\nopen({str(log)!r}, 'a').write(sys.stdin.read())\n")
    monkeypatch.setenv(VARIABLE, f"'{speaks}'")
    monkeypatch.chdir(tmp_path)
    lines = "".join(f"{value}thou\n" for value in (0, 3, 10, 17, 20, 17, 10, 3, 0))
    monkeypatch.setattr("sys.stdin", io.StringIO(lines))
    typed = ("--profile", "typed", "--unit", "in", "--headless", "--out", "s.jsonl")
    assert main(["sweep", "--voice", *typed]) == 1
    out = capsys.readouterr().out
    assert "OUTSIDE the limit" in out
    assert log.read_text().splitlines()[-1].startswith("Outside the limit. bore run-out")
    log.unlink()
    monkeypatch.setattr("sys.stdin", io.StringIO(lines))
    assert main(["sweep", *typed[:-1], "t.jsonl"]) == 1
    assert not log.exists()  # off, unless it is asked for


def test_what_is_new_cuts_off_what_is_old_and_nobody_waits_for_it(tmp_path):
    slow = program(tmp_path, "import sys, time\nsys.stdin.read()\ntime.sleep(60)\n")
    voice = Voice([str(slow)])
    before = time.monotonic()
    voice.say("one")
    first = voice._speaking
    voice.say("two")
    assert first.poll() is not None
    second = voice._speaking
    voice.hush()
    assert second.poll() is not None and time.monotonic() - before < 20.0


def test_a_program_that_fails_stops_nothing(tmp_path):
    broken = program(tmp_path, "raise SystemExit(3)\n")
    for voice in (Voice([str(broken)]), Voice([str(tmp_path / "gone")])):
        voice.say("words")
        voice.close()


def test_a_voice_that_is_no_command_is_said_and_one_that_will_not_end_holds_up_nothing(tmp_path, monkeypatch):
    monkeypatch.setenv(VARIABLE, '"')
    with pytest.raises(UsageError, match=f"{VARIABLE} is no command"):
        find_voice()
    deaf = Voice(
        [sys.executable, "-c", "import signal,time; signal.signal(15, signal.SIG_IGN); time.sleep(99)"]
    )
    deaf.say("one")
    time.sleep(0.3)  # so that it is deaf by now; if not, this passes all the same
    begun = time.monotonic()
    deaf.hush()
    assert time.monotonic() - begun < 0.5


def test_no_voice_is_said_before_anything_is_recorded(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv(VARIABLE, "no-such-program-anywhere")
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UsageError, match="no voice here"):
        find_voice()
    code = main(["sweep", "--voice", "--profile", "typed", "--unit", "in", "--headless"])
    assert code == 2 and "no voice here" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(
    shutil.which("espeak-ng") is None, reason="espeak-ng, the program that speaks, is not installed here"
)
def test_espeak_speaks_into_a_file_and_longer_for_more_words(tmp_path):
    def seconds(words):
        path = tmp_path / f"{len(words)}.wav"
        voice = Voice(["espeak-ng", "--stdin", "-w", str(path)])
        voice.say(words)
        voice.close()
        with wave.open(str(path)) as sound:
            heard = np.frombuffer(sound.readframes(sound.getnframes()), dtype=np.int16)
            rate = sound.getframerate()
        loud = np.flatnonzero(np.abs(heard.astype(float)) > 500.0)
        assert len(loud) > 0.1 * rate  # a voice, not silence
        return (loud[-1] - loud[0]) / rate

    short = seconds(aloud("turn to 1:30 and stop"))
    verdict = seconds(finding_aloud(replay(FOUND).result(), "thou"))
    assert 0.5 < short < 4.0 and verdict > 2.0 * short


def test_the_screen_speaks_where_a_voice_is_wanted(tmp_path):
    async def life():
        app = CoaxlyApp(
            lambda app: rehearse(app, Rehearsal(1, 8.0, tmp_path)), "thou"
        )  # every station is heard, on a busy machine too
        app.voice = voice
        async with app.run_test(size=(80, 24)) as pilot:
            await until(lambda: any(words.startswith("Outside the limit") for words in voice.said))
            await leave(app, pilot)

    voice = Heard()
    clockwork.run(life())
    assert sum("taken. turn to " in words for words in voice.said) >= 3
    assert sum(words.startswith("Outside the limit") for words in voice.said) == 1
