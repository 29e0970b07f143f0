"""The real pyserial path, on pseudo-terminals: what is sent arrives, and a loss is no silence."""

import asyncio
import contextlib
import errno
import os
import pty
import termios
import threading
import tty

import clockwork
import pytest
import serial

from coaxly.logger.clock import SessionClock
from coaxly.logger.errors import PortError
from coaxly.logger.port import serialport
from coaxly.logger.port.serialport import RETRY_S, SerialSource, explain
from coaxly.logger.profile import built_in
from coaxly.logger.rig.rigport import RigPort


class Heard:
    """Collects what a source brings, and lets a test wait for it."""

    def __init__(self):
        self.data, self.links = b"", []

    def on_data(self, data):
        self.data += data

    def on_link(self, state):
        self.links.append(state)

    async def until(self, condition):
        # With a deadline in real time as well: simulated time runs on while a busy machine's thread reads.
        await clockwork.until(lambda: condition(self))


@contextlib.asynccontextmanager
async def running(url, profile="stream-decimal"):
    heard = Heard()
    source = SerialSource(url, built_in(profile), heard.on_data, heard.on_link)
    task = asyncio.create_task(source.run())
    try:
        yield heard, task
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


def open_pty():
    ours, theirs = pty.openpty()
    for end in (ours, theirs):
        tty.setraw(end)
    return ours, theirs, os.ttyname(theirs)


def test_bytes_arrive_as_they_were_sent():
    async def main():
        ours, theirs, name = open_pty()
        async with running(name) as (heard, _):
            await heard.until(lambda h: h.links == ["up"])
            os.write(ours, bytes(range(256)))
            await heard.until(lambda h: len(h.data) == 256)
            assert heard.data == bytes(range(256))
        os.close(ours)
        os.close(theirs)

    clockwork.run(main())


def test_a_lost_port_is_reported_and_taken_up_again(tmp_path):
    async def main():
        link = tmp_path / "dial"
        ours, theirs, name = open_pty()
        link.symlink_to(name)
        async with running(str(link)) as (heard, _):
            await heard.until(lambda h: h.links == ["up"])
            os.write(ours, b"+1.0\r\n")
            await heard.until(lambda h: h.data == b"+1.0\r\n")
            os.close(theirs)
            os.close(ours)
            await heard.until(lambda h: h.links == ["up", "lost"])
            ours, theirs, name = open_pty()
            link.unlink()
            link.symlink_to(name)
            await heard.until(lambda h: h.links == ["up", "lost", "up"])
            os.write(ours, b"+2.0\r\n")
            await heard.until(lambda h: h.data == b"+1.0\r\n+2.0\r\n")
        os.close(ours)
        os.close(theirs)

    clockwork.run(main())
    assert RETRY_S < 5


def test_a_port_that_is_let_go_keeps_its_control_lines():
    """Hanging up on close drops DTR, which resets many a microcontroller."""

    async def main():
        ours, theirs, name = open_pty()
        state = termios.tcgetattr(theirs)
        state[2] |= termios.HUPCL
        termios.tcsetattr(theirs, termios.TCSANOW, state)
        async with running(name) as (heard, _):
            await heard.until(lambda h: h.links == ["up"])
            assert not termios.tcgetattr(theirs)[2] & termios.HUPCL
        os.close(ours)
        os.close(theirs)

    clockwork.run(main())


def test_no_such_port_says_what_to_do():
    async def main():
        async with running("/dev/no-such-dial") as (_, task):
            with pytest.raises(PortError, match=r"no such port.*coaxly ports"):
                await asyncio.wait_for(task, 10)

    clockwork.run(main())


def test_a_port_in_use_says_both_things_it_can_be():
    async def main():
        ours, theirs, name = open_pty()
        async with running(name) as (heard, _):
            await heard.until(lambda h: h.links == ["up"])
            async with running(name) as (_, second):
                with pytest.raises(PortError, match=r"another program, or just unplugged"):
                    await asyncio.wait_for(second, 10)
        os.close(ours)
        os.close(theirs)

    clockwork.run(main())


def test_a_port_that_opens_slowly_holds_nobody_up_and_is_let_go_of_when_nobody_waits(monkeypatch):
    usual, may = serialport._opened, threading.Event()
    opened = []

    def slowly(url, profile):
        may.wait(10)
        opened.append(usual(url, profile))
        return opened[-1]

    async def main():
        ours, theirs, name = open_pty()
        monkeypatch.setattr(serialport, "_opened", slowly)
        async with running(name) as (heard, task):
            await asyncio.sleep(0.05)  # nothing but this loop tells that it goes on
            assert heard.links == [] and not task.done()
        monkeypatch.setattr(serialport, "_opened", usual)
        async with running(name) as (heard, task):
            may.set()
            await heard.until(lambda h: h.links == ["up"])
            assert [port.is_open for port in opened] == [False]
        os.close(ours)
        os.close(theirs)

    clockwork.run(main())


@pytest.mark.parametrize(("times", "links"), [(2, ["up"]), (99, [])], ids=["comes", "does not come"])
def test_a_port_that_does_not_answer_yet_is_tried_again_for_a_while(monkeypatch, times, links):
    usual = serialport._opened
    tried = []

    def opened(url, profile):
        tried.append(url)
        if len(tried) <= times:
            raise serial.SerialException(errno.EHOSTDOWN, "Host is down")
        return usual(url, profile)

    async def main():
        ours, theirs, name = open_pty()
        monkeypatch.setattr(serialport, "_opened", opened)
        async with running(name) as (heard, task):
            await heard.until(lambda h: h.links or task.done())
            assert heard.links == links
            if not links:
                assert "paired" in str(task.exception())
        os.close(ours)
        os.close(theirs)

    clockwork.run(main())


def test_a_polled_instrument_is_asked():
    async def main():
        clock = SessionClock()
        async with (
            RigPort(lambda t: b"+0.5\r\n", clock, polled=True) as port,
            running(port.url, "polled-decimal") as (heard, _),
        ):
            await heard.until(lambda h: h.data.count(b"+0.5\r\n") >= 3)

    clockwork.run(main())


@pytest.mark.parametrize("polled", [False, True])
def test_the_rig_speaks_on_a_socket_where_there_is_no_pseudo_terminal(monkeypatch, polled):
    def no_pty(self):
        raise OSError("no ptys here")

    monkeypatch.setattr(RigPort, "_open_pty", no_pty)

    async def main():
        profile = "polled-decimal" if polled else "stream-decimal"
        async with RigPort(lambda t: b"+0.5\r\n", SessionClock(), polled=polled) as port:
            assert port.url.startswith("socket://127.0.0.1:")
            async with running(port.url, profile) as (heard, _):
                await heard.until(lambda h: h.data.count(b"+0.5\r\n") >= 3)

    clockwork.run(main())


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (OSError(13, "denied"), "permission"),
        (OSError(2, "missing"), "no such port"),
        (OSError(16, "busy"), "in use by another program"),
        (OSError(111, "refused"), "nobody answers"),
        (OSError(21, "is a directory"), "is no serial port"),
        (ValueError("odd"), "odd"),
    ],
)
def test_errors_of_the_system_become_words(error, words):
    assert words in explain(error)


@pytest.mark.parametrize(("name", "kind"), [("notes.txt", "a file"), ("", "a folder")])
def test_a_file_is_told_from_a_port(name, kind, tmp_path):
    (tmp_path / "notes.txt").touch()

    async def main():
        async with running(str(tmp_path / name)) as (_, task):
            with pytest.raises(PortError, match=f"this is {kind}, and is no serial port"):
                await asyncio.wait_for(task, 10)

    clockwork.run(main())
