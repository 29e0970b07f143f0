"""What a person sees of work that takes long."""

import io
import threading
import time

import pytest
from making import RECORDINGS

from coaxly import output
from coaxly.main import main


class Terminal(io.StringIO):
    """Keeps what was shown, and tells when that is so."""

    def __init__(self, wanted, *, tty=True):
        super().__init__()
        self._wanted, self._tty, self.shown = wanted, tty, threading.Event()

    def isatty(self):
        return self._tty

    def write(self, text):
        count = super().write(text)
        if self._wanted in self.getvalue():
            self.shown.set()
        return count


def on_terminal(monkeypatch, *, tty=True):
    """Standard error from now on."""
    monkeypatch.setenv("TERM", "xterm")
    shown = Terminal("trying sizes", tty=tty)
    monkeypatch.setattr("sys.stderr", shown)
    return shown


def test_what_takes_long_shows_a_bar_and_takes_it_away(monkeypatch):
    terminal = on_terminal(monkeypatch)
    with output.busy("trying sizes", after_s=0.01):
        assert terminal.shown.wait(20.0)
    ended = terminal.getvalue()
    assert "\x1b[2K" in ended[ended.rindex("trying sizes") :]  # the line is wiped
    assert "\x1b[?25h" in ended  # the cursor is back


def test_what_is_done_at_once_shows_nothing(monkeypatch):
    terminal = on_terminal(monkeypatch)
    began = time.monotonic()
    for _ in range(3):
        with output.busy("trying sizes"):
            pass
    if time.monotonic() - began < 2.0:  # a machine so slow shows it rightly
        assert terminal.getvalue() == ""
    assert not [each for each in threading.enumerate() if isinstance(each, threading.Timer)]


def test_a_bar_is_gone_where_the_work_fails(monkeypatch):
    terminal = on_terminal(monkeypatch)
    with pytest.raises(ValueError, match="too few"), output.busy("trying sizes", after_s=0.01):
        assert terminal.shown.wait(20.0)
        raise ValueError("too few")
    assert "\x1b[?25h" in terminal.getvalue()


def test_nothing_is_drawn_into_a_file(monkeypatch):
    kept = on_terminal(monkeypatch, tty=False)
    with output.busy("trying sizes", after_s=0.0):
        pass
    assert kept.getvalue() == ""


@pytest.mark.parametrize("words", [("ledger",), ("stock",)])
def test_the_commands_that_compute_long_say_so(words, monkeypatch, capsys):
    asked = []

    class Noted:
        def __init__(self, label):
            asked.append(label)

        def __enter__(self):
            return None

        def __exit__(self, *_):
            return None

    monkeypatch.setattr(output, "busy", Noted)
    main([*words, "--csv", str(RECORDINGS / "made-shop.csv")])
    assert "taking the jobs apart" in asked and len(asked) == 2


def test_a_bar_of_many_appears_late_and_is_taken_away(monkeypatch):
    terminal = on_terminal(monkeypatch)
    assert list(output.progress([1, 2, 3], 3, "reading the jobs")) == [1, 2, 3]
    assert terminal.getvalue() == ""
    assert list(output.progress([1, 2, 3], 3, "reading the jobs", after_s=0.0)) == [1, 2, 3]
    ended = terminal.getvalue()
    assert "3/3" in ended and "\x1b[2K" in ended[ended.rindex("reading the jobs") :]
