"""Dials that wait to be asked, on a pseudo-terminal: found by `listen`, whatever they wait for."""

import asyncio
import contextlib
import itertools
import os

import clockwork
import pytest
from ptyline import line

from coaxly.job.many.oneport import REQUESTS, Ear
from coaxly.logger.profile import Profile

SETTINGS = [Profile(name="heard", baud=9600)]


async def answers(fd, wants, *, late=0.0, echo=False, boots=0.0, end=""):
    """A board that answers each request once it has heard it; what it does not know is not said."""
    heard, values = "", itertools.cycle(["+0.512", "+0.513", "+0.514"])
    ends = end or wants[-1]
    while True:
        with contextlib.suppress(BlockingIOError):
            heard += os.read(fd, 256).decode("latin-1")
        if not end and wants in heard and not wants.endswith(("\r", "\n")):
            heard = heard.replace(wants, ends, 1) if len(wants) > 1 else wants
        while ends in heard:
            said, _, heard = heard.partition(ends)
            if (said + ends).endswith(wants):
                await asyncio.sleep(late)
                os.write(fd, ((wants if echo else "") + next(values) + "\r\n").encode())
        await asyncio.sleep(0.01)


async def found(talk, settings=SETTINGS):
    """How a port is understood in a round of all settings; None if it is not."""
    with line() as (fd, port):
        ear = Ear(port, settings, asks=True, silent_s=1.0)
        tasks = [asyncio.create_task(talk(fd)), asyncio.create_task(ear.listen())]
        try:
            await clockwork.until(lambda: ear.hearing.understood is not None or ear.rounds)
            return ear.hearing.understood
        finally:
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)


@pytest.mark.parametrize(
    "request_", ["\r", "?\r", "R\r", "READ?\r\n", "D\n", "1\r", "\x05", "\x02", " ", "P"]
)
def test_what_it_waits_for_is_found(request_):
    assert request_ in REQUESTS
    understood = clockwork.run(found(lambda fd: answers(fd, request_)))
    assert understood is not None and understood.profile.request.strip("\r\n") == request_.strip("\r\n")


def test_a_slow_board_is_waited_for():
    understood = clockwork.run(found(lambda fd: answers(fd, "R\r", late=0.6)))
    assert understood is not None and understood.profile.request == "R\r"
    assert understood.profile.period_s > 0.6


def test_a_request_that_comes_back_is_no_reading():
    understood = clockwork.run(found(lambda fd: answers(fd, "READ?\r", echo=True)))
    assert understood is not None and understood.profile.request == "READ?\r" and understood.share == 1.0


def test_a_board_that_boots_and_then_speaks_by_itself_is_not_taken_for_one_that_answers():
    async def boots(fd):
        await asyncio.sleep(2.0)
        for k in itertools.count():
            os.write(fd, b"+0.51%d\r\n" % (k % 3))
            await asyncio.sleep(0.1)

    understood = clockwork.run(found(boots))
    assert understood is not None and understood.profile.request == ""


def test_a_port_that_refuses_a_setting_is_let_go_of(monkeypatch):
    """Another program, or the next setting, can open it at once."""
    from coaxly.logger.errors import PortError
    from coaxly.logger.port import portthread, serialport

    async def fails(*arguments):
        raise OSError(22, "refused")

    async def main():
        with line() as (_, port):
            with monkeypatch.context() as broken:
                broken.setattr(portthread.serial_asyncio, "connection_for_serial", fails)
                source = serialport.SerialSource(port, Profile(), lambda data: None, lambda state: None)
                lost = await source.open()
                await clockwork.until(lost.done)
            again = serialport.SerialSource(port, Profile(), lambda data: None, lambda state: None)
            with contextlib.suppress(PortError):
                await again.open()
                again.close()
                return True
        return False

    assert clockwork.run(main())
