"""A thread that reads one open port, so that reading never waits for whoever draws or computes.

Measured with 1,000 lines a second on a pseudo-terminal and the program's loop held up for six seconds
at a time: read in that loop 80 % of the lines are lost, in chunks of 1,024 bytes as of 65,536, because
the kernel keeps some 60 kB that nobody reads, whoever would read faster later. Read in a thread of its
own nothing is lost, and each chunk has the time at which it came. It costs some 0.05 ms of latency and
2 % of a core.

pyserial-asyncio is no longer maintained, so it stays behind this one module, in a loop that does
nothing else. Any error from it ends the stream; nothing of it reaches the program's own loop.
"""

import asyncio
import contextlib
import threading
from collections.abc import Callable
from typing import Any, Final

import serial_asyncio

from .arrivals import Inlet

_LEAVE_S: Final = 1.0
"""How long a driver may take to let go of a port before the thread is left behind (it ends by itself)."""


class PortThread:
    """Reads until the port is lost or `stop` is called, then closes it."""

    def __init__(self, port: Any, inlet: Inlet, on_lost: Callable[[], None], pause_s: float = 0.0) -> None:
        """`port`: an open serial.Serial. on_lost is handed to the inlet when the port has gone. pause_s:
        silence that the inlet is told of, 0 for none."""
        self._port, self._inlet, self._on_lost = port, inlet, on_lost
        self._pause_s = pause_s
        self._loop = asyncio.SelectorEventLoop()
        self._over = asyncio.Event()
        self._transport: Any = None
        self._thread = threading.Thread(target=self._run, name=f"port {port.name}", daemon=True)

    def start(self) -> None:
        """Begin to read."""
        self._thread.start()

    def write(self, data: bytes) -> None:
        """Send bytes; nothing happens once the port has gone."""
        self._ask(self._send, data)

    def stop(self) -> None:
        """Close the port. When this returns another may open it."""
        self._ask(self._over.set)
        self._thread.join(_LEAVE_S)

    def _ask(self, action: Callable[..., object], *arguments: Any) -> None:
        # The loop is closed by its thread, perhaps just now.
        with contextlib.suppress(RuntimeError):
            self._loop.call_soon_threadsafe(action, *arguments)

    def _send(self, data: bytes) -> None:
        if self._transport is not None:
            self._transport.write(data)

    def _run(self) -> None:
        self._loop.set_exception_handler(lambda loop, context: self._over.set())
        try:
            self._loop.run_until_complete(self._read())
        except Exception:
            # Whatever it was, the stream ends below; a port that is not let go of would stay locked.
            with contextlib.suppress(Exception):
                self._port.close()
        finally:
            self._inlet.end(self._on_lost)
            self._loop.close()

    async def _read(self) -> None:
        protocol = _Protocol(self._inlet, self._over, self._pause_s)
        self._transport, _ = await serial_asyncio.connection_for_serial(
            self._loop, lambda: protocol, self._port
        )
        await self._over.wait()
        # The device may be gone: clean-up then fails inside the library, or in the driver.
        with contextlib.suppress(Exception):
            self._port.reset_output_buffer()
        with contextlib.suppress(Exception):
            self._transport.abort()
            await asyncio.wait_for(protocol.ended.wait(), _LEAVE_S)
        with contextlib.suppress(Exception):
            self._port.close()


class _Protocol(asyncio.Protocol):
    def __init__(self, inlet: Inlet, over: asyncio.Event, pause_s: float) -> None:
        self._inlet, self._over, self._pause_s = inlet, over, pause_s
        self._due: asyncio.TimerHandle | None = None
        self.ended = asyncio.Event()

    def data_received(self, data: bytes) -> None:
        if self._pause_s:
            self._awaits_pause()
        self._inlet.put(data)

    def _awaits_pause(self) -> None:
        """Bytes came: a pause that is over by now is told before them, the next one once it has lasted."""
        loop = asyncio.get_running_loop()
        if self._due is not None and not self._due.cancelled():
            self._due.cancel()
            if loop.time() >= self._due.when():
                self._inlet.paused()
        self._due = loop.call_later(self._pause_s, self._paused)

    def _paused(self) -> None:
        self._due = None
        self._inlet.paused()

    def connection_lost(self, exc: Exception | None) -> None:
        if self._due is not None:
            self._due.cancel()
        self._over.set()
        self.ended.set()
