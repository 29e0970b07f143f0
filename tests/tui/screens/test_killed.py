"""The installed program in a real terminal, killed without warning at each step of a job, and started again."""

import json
import os
import shutil
import signal
import subprocess
import sys
import time

import pytest

from coaxly.job.folder.index import need_job, open_job
from coaxly.job.folder.journal import Opened, now
from coaxly.job.folder.snapshot import look

PATIENCE_S = 30.0


class Terminal:
    """A tmux server of its own with one pane, in which the program runs."""

    def __init__(self, folder):
        self._folder = folder
        self._server = ["tmux", "-L", f"coaxly-killed-{os.getpid()}", "-f", "/dev/null"]
        (folder / "state" / "coaxly").mkdir(parents=True)
        kept = {"profile": "typed", "dial_unit": "in"}
        (folder / "state" / "coaxly" / "last.json").write_text(json.dumps(kept))
        self._env = {
            **os.environ, "TERM": "screen-256color", "COAXLY_SHOP": str(folder / "shop"),
            "XDG_STATE_HOME": str(folder / "state"),
        }  # fmt: skip
        self._command = [sys.executable, "-m", "coaxly"]
        self._tmux("new-session", "-d", "-x", "80", "-y", "24", "sleep 600")
        self._tmux("set", "-g", "remain-on-exit", "on")

    def _tmux(self, *words):
        done = subprocess.run([*self._server, *words], env=self._env, capture_output=True, text=True)
        return done.stdout

    def start(self):
        """A new program, where the old one was killed."""
        self._tmux("respawn-pane", "-k", *self._command)
        return self

    def keys(self, *names, deaf=0.0):
        """deaf: how long the page hears no pedal: what comes at once was meant for the one before."""
        time.sleep(deaf)
        self._tmux("send-keys", *names)

    def type(self, text):
        self._tmux("send-keys", "-l", text)

    def sees(self, *texts):
        """Wait until all of the texts are on the screen."""
        end = time.monotonic() + PATIENCE_S
        while True:
            seen = " ".join(self._tmux("capture-pane", "-p").split())
            if all(text in seen for text in texts):
                return
            assert time.monotonic() < end, (texts, seen)
            time.sleep(0.05)

    def kill(self):
        """Pull the plug."""
        os.kill(int(self._tmux("display-message", "-p", "#{pane_pid}")), signal.SIGKILL)
        end = time.monotonic() + PATIENCE_S
        while self._tmux("display-message", "-p", "#{pane_dead}").strip() != "1":
            assert time.monotonic() < end
            time.sleep(0.02)

    def close(self):
        self._tmux("kill-server")


def read(terminal, readings):
    """Type a reading at each station that is due."""
    for reading, place in readings:
        terminal.type(f"{reading}\r")
        terminal.sees(f"station {place} taken")


PLACES = ("12:00", "3:00", "6:00", "9:00", "12:00")
FOUND = tuple(zip(("0.0150", "0.0251", "0.0252", "0.0152", "0.0151"), PLACES, strict=True))
"""A bore that is off by 5 thou to the left and 5 thou up: 7 thou dowels to 4:31 bring it home."""
LEFT = tuple(zip(("0.0204", "0.0203", "0.0196", "0.0197", "0.0205"), PLACES, strict=True))


@pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed")
def test_a_job_goes_on_at_the_right_step_whenever_the_program_is_killed(tmp_path):
    details = {"kit": "7thou", "limit": "5thou", "rig": {"stations": 4, "zero_sd": "0"}}
    open_job(tmp_path / "shop", "blue van", details, Opened(time=now(), title="blue van"))
    job = need_job(tmp_path / "shop", "blue van")
    terminal = Terminal(tmp_path)
    try:
        terminal.start().sees("sweep the bore as found", "Enter goes on")
        terminal.keys("Enter", deaf=0.35)
        terminal.sees("must not start")
        terminal.keys("Space")
        terminal.sees("Space begin")
        terminal.keys("d", deaf=0.35)
        terminal.sees("You turn CLOCKWISE")
        terminal.keys("Space", deaf=0.65)
        terminal.sees("0 of 5 stations")
        read(terminal, FOUND[:2])
        terminal.kill()  # in mid-sweep

        terminal.start().sees("sweep the bore as found")
        terminal.keys("Enter", deaf=0.35)
        terminal.sees("broken off", "found-1.jsonl")
        terminal.keys("g")
        terminal.sees("2 of 5 stations")
        read(terminal, FOUND[2:])
        terminal.keys("f")
        terminal.sees("Space choose dowels")
        terminal.kill()  # before anything was chosen

        terminal.start().sees("choose dowels")
        terminal.keys("Enter", deaf=0.35)
        terminal.sees("which dowels?")
        terminal.kill()  # with the options on the screen
        assert look(job).state.next == "choose"

        terminal.start().sees("choose dowels")
        terminal.keys("Enter", deaf=0.35)
        terminal.sees("which dowels?")
        terminal.keys("Space", deaf=0.65)
        terminal.sees("Eye protection")
        terminal.keys("Space")
        terminal.sees("L they are in")
        terminal.kill()  # while the dowels are set

        terminal.start().sees("fit: 2 x 7.0 thou, high sides to 4:31")
        terminal.keys("Enter", deaf=0.35)
        terminal.sees("L they are in")
        terminal.keys("l")
        terminal.sees("sweep the bore as left")
        terminal.kill()  # once they are in

        terminal.start().sees("sweep the bore as left")
        terminal.keys("Enter", deaf=0.35)
        terminal.sees("Space begin")
        terminal.keys("Space", deaf=0.65)
        terminal.sees("0 of 5 stations")
        read(terminal, LEFT)
        terminal.keys("f")
        terminal.sees("Space compare and prove it")
        terminal.kill()  # before it was proved

        terminal.start().sees("compare and prove it")
        terminal.keys("Enter", deaf=0.35)
        terminal.sees("planned")
        terminal.kill()  # with the proof on the screen

        terminal.start().sees("write the report")
        terminal.keys("q")
    finally:
        terminal.close()
    kinds = [type(record).__name__ for record in look(job).records]
    assert kinds == ["Opened", "Changed", "Sweep", "Chosen", "Fitted", "Sweep", "Proof"]
    assert [path.name for path in job.recordings()] == ["found-1.jsonl", "left-1.jsonl"]
    assert look(job).state.next == "report" and look(job).state.proof.state == "inside"
