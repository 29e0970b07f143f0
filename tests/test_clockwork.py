"""The simulated clock that other tests stand on."""

import asyncio
import os
import pty
import time
import tty

import clockwork
import pytest
from textual import _time
from textual.app import App

from coaxly.logger.clock import SessionClock


def test_a_day_passes_in_a_moment_and_every_clock_agrees():
    async def main():
        clock, before, textual_before = SessionClock(), time.monotonic(), _time.get_time()
        await asyncio.sleep(86400)
        for passed in (clock(), time.monotonic() - before, _time.get_time() - textual_before):
            assert passed == pytest.approx(86400, abs=0.01)

    start = clockwork.real()
    clockwork.run(main())
    assert clockwork.real() - start < 60


def test_work_takes_no_time_of_life():
    async def main():
        before, start = time.monotonic(), clockwork.real()
        while clockwork.real() < start + 0.05:
            pass
        assert time.monotonic() == before

    clockwork.run(main())


def test_outside_the_loop_time_is_real_and_never_runs_back():
    async def main():
        await asyncio.sleep(5)
        return time.monotonic()

    before, inside = time.monotonic(), clockwork.run(main())
    start = time.monotonic()
    assert before + 5 <= inside <= start
    time.sleep(0.01)
    assert time.monotonic() - start > 0.009


def test_a_timer_of_the_screen_ticks_as_often_as_it_should():
    ticks = []

    async def main():
        app = App()
        async with app.run_test():
            app.set_interval(1 / 12, lambda: ticks.append(time.monotonic()))
            await asyncio.sleep(100)

    clockwork.run(main())
    assert len(ticks) == pytest.approx(1200, abs=1)


def test_what_is_written_arrives_before_the_next_timer():
    async def main():
        ours, theirs = pty.openpty()
        tty.setraw(theirs)
        heard = []
        asyncio.get_running_loop().add_reader(theirs, lambda: heard.append(os.read(theirs, 100)))
        for k in range(100):
            os.write(ours, b"%d" % k)
            await asyncio.sleep(0.02)
            assert heard[-1] == b"%d" % k
        asyncio.get_running_loop().remove_reader(theirs)
        os.close(ours)
        os.close(theirs)

    clockwork.run(main())


def test_a_thread_at_work_is_waited_for_in_real_time():
    async def main():
        timer = asyncio.create_task(asyncio.sleep(3600))
        before = time.monotonic()
        await asyncio.to_thread(time.sleep, 0.05)
        assert 0.04 < time.monotonic() - before < 60
        assert not timer.done()
        timer.cancel()

    clockwork.run(main())


def test_what_never_comes_is_given_up(monkeypatch):
    monkeypatch.setattr(clockwork, "REAL_PATIENCE_S", 0.01)

    async def main():
        with pytest.raises(TimeoutError):
            await clockwork.until(lambda: False, step_s=1.0)

    clockwork.run(main())
