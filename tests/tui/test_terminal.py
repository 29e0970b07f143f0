"""What a terminal is taken for, and other systems as far as this one can be made to look like them."""

import os
import pty
import select
import subprocess
import sys
import types

import pytest
from making import RECORDINGS

from coaxly import terminal
from coaxly.job.sweep.run import SweepRun
from coaxly.main import main


class Tty:
    def isatty(self):
        return True


@pytest.mark.parametrize(
    ("platform", "term", "screen"),
    [
        ("linux", "xterm", True),
        ("linux", "", False),
        ("linux", None, False),
        ("win32", None, True),
        ("win32", "dumb", False),
        ("darwin", "dumb", False),
    ],
)
def test_a_console_of_windows_has_no_term_and_is_a_screen(monkeypatch, platform, term, screen):
    monkeypatch.setattr(terminal.sys, "platform", platform)
    monkeypatch.delenv("TERM", raising=False)
    if term is not None:
        monkeypatch.setenv("TERM", term)
    for name in ("stdin", "stdout", "stderr"):
        monkeypatch.setattr(terminal.sys, name, Tty())
    assert terminal.has_screen() is screen


def test_what_is_typed_while_a_screen_is_loaded_is_neither_shown_nor_taken():
    import termios

    ours, theirs = pty.openpty()
    with os.fdopen(theirs, "r") as stdin, pytest.MonkeyPatch.context() as here:
        here.setattr(sys, "stdin", stdin)
        before = termios.tcgetattr(theirs)
        with terminal.hushed():
            assert not termios.tcgetattr(theirs)[3] & termios.ECHO
            os.write(ours, b"qqq\n")
            assert select.select([theirs], [], [], 20.0)[0]
        assert termios.tcgetattr(theirs)[3] == before[3]
        os.set_blocking(ours, False)
        os.set_blocking(theirs, False)
        for end in (ours, theirs):
            with pytest.raises(BlockingIOError):
                os.read(end, 10)
    os.close(ours)


class Loaded(types.ModuleType):
    """The module of the screens: notes whether keys are kept away when it is loaded, and shows nothing."""

    def __init__(self, kept_away):
        super().__init__("coaxly.screens.app")
        self._noted, self._kept_away = [], kept_away

    def __getattr__(self, name):
        if name.startswith("show_"):
            self._noted.append(self._kept_away())
            return self._shown
        raise AttributeError(name)

    def _shown(self, *what):
        for each in what:
            if isinstance(each, SweepRun):
                each.stop()
        return 0


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("demo",),
        ("replay", str(RECORDINGS / "launch-found.jsonl"), "--screen"),
        ("sweep", "--profile", "typed", "--unit", "in", "--out", "s.jsonl"),
    ],
)
def test_whatever_shows_a_screen_takes_no_key_while_that_is_loaded(words, monkeypatch, tmp_path):
    import termios

    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TERM", "xterm")
    ours, theirs = pty.openpty()
    with os.fdopen(theirs, "r") as stdin:
        loaded = Loaded(lambda: not termios.tcgetattr(theirs)[3] & termios.ECHO)
        monkeypatch.setitem(sys.modules, "coaxly.screens.app", loaded)
        monkeypatch.setattr(sys, "stdin", stdin)
        for name in ("stdout", "stderr"):
            monkeypatch.setattr(getattr(sys, name), "isatty", lambda: True, raising=False)
        main(list(words))
        assert loaded._noted == [True]
    os.close(ours)


def test_a_stream_that_is_no_terminal_is_left_alone(monkeypatch):
    monkeypatch.setattr(sys, "stdin", None)
    with terminal.hushed():
        pass


HIDDEN = ("fcntl", "grp", "pty", "pwd", "resource", "termios", "tty")
# What others need of them is loaded before they are hidden from us; locks of bytes are those of this system.
WITHOUT = f"""
import asyncio, fcntl, os, serial_asyncio, sys, types
locks = types.ModuleType("msvcrt")
locks.LK_NBLCK, locks.LK_UNLCK = 2, 0
locks.locking = lambda fd, how, count: fcntl.lockf(
    fd, fcntl.LOCK_EX | fcntl.LOCK_NB if how else fcntl.LOCK_UN, count, 0, os.SEEK_CUR
)
sys.modules.update(dict.fromkeys({HIDDEN!r}), msvcrt=locks)
from coaxly.main import main
from coaxly.logger import locks as ours
ours._FAR = 1 << 40  # as far as this system's files can be
"""


def without(*words, folder):
    return subprocess.run(
        [sys.executable, "-c", f"{WITHOUT}\nsys.exit(main(sys.argv[1:]))", *map(str, words)],
        cwd=folder, capture_output=True, text=True, timeout=120,
    )  # fmt: skip


def test_a_job_is_worked_where_the_modules_of_posix_are_missing(tmp_path):
    """A port's group is not named there, and files are locked by bytes: everything else is as elsewhere."""
    shop = ["--shop", tmp_path / "shop"]
    for words, code in (
        (["job", "open", "van", "--limit", "5thou", "--kit", "5thou,7thou"], 0),
        (["sweep", "--job", "van", "--tir", "9thou", "--high", "3:40"], 1),
        (["plan", "van", "--take", "1"], 0),
        (["job", "fitted", "van"], 0),
        (["sweep", "--job", "van", "--tir", "1thou", "--high", "7:00", "--stage", "left"], 0),
        (["verify", "van"], 0),
        (["report", "van"], 0),
        (["job", "list"], 0),
    ):
        done = without(*words, *shop, folder=tmp_path)
        assert done.returncode == code and "Traceback" not in done.stderr, done.stderr
    done = without("replay", RECORDINGS / "launch-found.jsonl", folder=tmp_path)
    assert done.returncode == 1 and "OUTSIDE" in done.stdout
