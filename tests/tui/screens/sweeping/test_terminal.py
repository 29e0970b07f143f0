"""The measuring screen in a terminal of its own: what is left of it when the program is told to end."""

import os
import pty
import select
import shutil
import signal
import subprocess
import sys
import time

import pytest
from benching import Wire
from source import ROOT

ALTERNATE, NORMAL = b"\x1b[?1049h", b"\x1b[?1049l"


def seen_until(fd, wanted, seen=b""):
    end = time.monotonic() + 40
    while wanted not in seen and time.monotonic() < end:
        if select.select([fd], [], [], 0.1)[0]:
            try:
                seen += os.read(fd, 65536)
            except OSError:
                break
    return seen


@pytest.mark.skipif(not hasattr(signal, "SIGHUP"), reason="no such signals here")
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT], ids=str)
def test_told_to_end_the_screen_seals_the_recording_and_gives_the_terminal_back(tmp_path, number):
    wire = Wire(tmp_path / "dial")
    ours, theirs = pty.openpty()
    path = tmp_path / "s.jsonl"
    process = subprocess.Popen(
        [sys.executable, "-m", "coaxly", "sweep", "--port", str(tmp_path / "dial"), "--unit", "mm",
         "--out", str(path)],
        stdin=theirs, stdout=theirs, stderr=theirs, env={**os.environ, "COLUMNS": "80", "LINES": "24"},
    )  # fmt: skip
    try:
        seen = seen_until(ours, b"connected")
        assert ALTERNATE in seen
        process.send_signal(number)
        seen = seen_until(ours, NORMAL)
        assert NORMAL in seen
        assert process.wait(30) == 130
    finally:
        process.kill()
        for end in (ours, theirs):
            os.close(end)
        wire.unplug()
    assert b'"kind":"seal"' in path.read_bytes().splitlines()[-1]


@pytest.mark.skipif(shutil.which("bash") is None, reason="needs a shell with jobs")
def test_ctrl_z_goes_to_the_shell_and_fg_is_no_command_of_the_sweep(tmp_path):
    wire = Wire(tmp_path / "dial")
    path = tmp_path / "s.jsonl"
    child, ours = pty.fork()
    if child == 0:
        os.execvp("bash", ["bash", "--norc", "--noprofile", "-i"])
    try:
        command = f"{sys.executable} -m coaxly sweep --port {tmp_path}/dial --unit mm --out {path}"
        os.write(ours, f"stty cols 80 rows 24; cd {ROOT}; {command}; echo LEFT=$?\n".encode())
        assert ALTERNATE in seen_until(ours, b"connected")
        os.write(ours, b"\x1a")
        assert b"Stopped" in seen_until(ours, b"Stopped")
        os.write(ours, b"fg\n")
        assert ALTERNATE in seen_until(ours, ALTERNATE)
        assert b"paused" in seen_until(ours, b"paused")
        assert b'"kind":"seal"' not in path.read_bytes().splitlines()[-1]
        time.sleep(1.0)
        os.write(ours, b"q")
        assert NORMAL in seen_until(ours, NORMAL)
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(ours)
        wire.unplug()
