"""Between the threads that read and the loop that takes: nothing is lost in silence, nothing out of order."""

import asyncio
import threading
from itertools import pairwise

import clockwork
import pytest
from ptyline import line, push

from coaxly.logger.errors import PortError
from coaxly.logger.port.arrivals import BATCH_S, WEIGHT, Arrivals
from coaxly.logger.port.serialport import SerialSource
from coaxly.logger.profile import built_in


def test_what_comes_while_the_program_is_busy_is_read_all_the_same():
    sent = b"".join(b"%+09.4f\r\n" % (k * 0.0001) for k in range(30_000))

    async def main():
        heard = bytearray()
        with line() as (ours, name):
            source = SerialSource(name, built_in("stream-decimal"), heard.extend, lambda state: None)
            await source.open()
            push(ours, sent)  # without giving the loop its turn once
            await clockwork.until(lambda: len(heard) >= len(sent))
            source.close()
        assert bytes(heard) == sent

    clockwork.run(main())


def port_threads():
    return [thread for thread in threading.enumerate() if thread.name.startswith("port ")]


def test_a_closed_port_leaves_no_thread_and_can_be_opened_at_once():
    async def main():
        with line() as (_, name):
            for _ in range(3):
                source = SerialSource(name, built_in("stream-decimal"), lambda data: None, lambda state: None)
                task = asyncio.create_task(source.run())
                await clockwork.until(port_threads)
                task.cancel()
                await asyncio.gather(task, return_exceptions=True)
                assert not port_threads()

    clockwork.run(main())


def test_a_port_that_cannot_be_waited_for_is_refused_in_words():
    async def main():
        source = SerialSource("loop://", built_in("stream-decimal"), lambda data: None, lambda state: None)
        with pytest.raises(PortError, match="cannot be opened"):
            await source.open()

    clockwork.run(main())


class Heard:
    """What was handed over, in order, with its time."""

    def __init__(self, arrivals):
        self.arrivals, self.log = arrivals, []

    def inlet(self, name):
        return self.arrivals.inlet(
            lambda data: self.log.append((name, data, self.arrivals.at)),
            lambda missed: self.log.append((name, missed, self.arrivals.at)),
        )


def test_chunks_of_all_ports_come_in_the_order_and_with_the_times_of_their_arrival():
    times = iter([1.0, 2.0, 2.5, 3.0])

    async def main():
        heard = Heard(Arrivals(lambda: next(times)))
        dial, encoder = heard.inlet("dial"), heard.inlet("encoder")
        for inlet, data in ((dial, b"a"), (encoder, b"b"), (dial, b"c"), (encoder, b"d")):
            inlet.put(data)
        heard.arrivals.take()
        assert heard.log == [
            ("dial", b"a", 1.0), ("encoder", b"b", 2.0), ("dial", b"c", 2.5), ("encoder", b"d", 3.0),
        ]  # fmt: skip

    clockwork.run(main())


def test_what_does_not_fit_is_counted_and_said_where_it_is_missing():
    async def main():
        heard = Heard(Arrivals(lambda: 0.0, capacity=2 * (WEIGHT + 3)))
        inlet = heard.inlet("dial")
        for data in (b"one", b"two", b"three", b"four"):
            inlet.put(data)
        heard.arrivals.take()
        inlet.put(b"five")
        heard.arrivals.take()
        inlet.put(b"six")
        heard.arrivals.take()
        assert [what for _, what, _ in heard.log] == [b"one", b"two", 9, b"five", b"six"]

    clockwork.run(main())


def test_a_gap_is_said_though_the_port_says_nothing_any_more():
    async def main():
        heard = Heard(Arrivals(lambda: 0.0, capacity=WEIGHT + 3))
        inlet = heard.inlet("dial")
        inlet.put(b"one")
        inlet.put(b"two")
        await clockwork.until(lambda: [what for _, what, _ in heard.log] == [b"one", 3])

    clockwork.run(main())


def test_the_end_of_a_port_comes_after_all_that_it_sent_and_a_closed_one_is_still():
    async def main():
        heard = Heard(Arrivals(lambda: 0.0))
        dial, encoder = heard.inlet("dial"), heard.inlet("encoder")
        dial.put(b"last words")
        dial.end(lambda: heard.log.append("lost"))
        encoder.put(b"too late")
        encoder.close()
        heard.arrivals.take()
        assert heard.log == [("dial", b"last words", 0.0), "lost"]

    clockwork.run(main())


def test_a_flood_leaves_the_loop_its_turns():
    async def main():
        heard = Heard(Arrivals(lambda: 0.0))
        inlet, seen = heard.inlet("dial"), []
        for _ in range(1000):
            inlet.put(b"x")
        while len(heard.log) < 1000:
            await asyncio.sleep(0)
            seen.append(len(heard.log))
        assert len(seen) >= 10

    clockwork.run(main())


def test_one_that_cannot_take_a_chunk_does_not_cost_the_next():
    async def main():
        arrivals, heard = Arrivals(lambda: 0.0), []

        def picky(data):
            if data == b"bad":
                raise RuntimeError("not this one")
            heard.append(data)

        asyncio.get_running_loop().set_exception_handler(lambda loop, context: None)
        inlet = arrivals.inlet(picky, lambda missed: None)
        for data in (b"a", b"bad", b"b"):
            inlet.put(data)
        await clockwork.until(lambda: heard == [b"a", b"b"])

    clockwork.run(main())


def test_a_line_after_a_silence_does_not_wait_and_many_are_handed_over_in_batches():
    async def main():
        arrivals = Arrivals(lambda: 0.0)
        loop, log, batches = asyncio.get_running_loop(), [], []
        arrivals.batch_s = BATCH_S
        arrivals.handed = lambda: batches.append(len(log))
        inlet = arrivals.inlet(lambda data: log.append(loop.time()), lambda missed: None)
        begun = loop.time()
        inlet.put(b"first")
        await asyncio.sleep(0.001)
        assert len(log) == 1 and log[0] - begun < 0.002
        for _ in range(100):
            inlet.put(b"x")
            await asyncio.sleep(0.001)
        await asyncio.sleep(0.05)
        assert len(log) == 101 and len(batches) <= 3 + 0.1 / BATCH_S
        assert max(later - before for before, later in pairwise(log)) < BATCH_S + 0.002

    clockwork.run(main())
