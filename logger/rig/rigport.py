"""The built-in engine's dial as a serial port: a pseudo-terminal, or loopback TCP where there is none."""

import asyncio
import contextlib
import os
import socket
import time
from collections.abc import Callable
from typing import Final

from ..clock import SessionClock
from .engine import DIAL_RATE_HZ

_LONGEST_TICK_S: Final = 0.02
"""Wall time between writes: fast rigs send several lines at once, as USB adapters do."""


_PATIENCE_S: Final = 0.5
"""Session time that may pass from one word of the rig to the next."""


class RigClock(SessionClock):
    """The rig's own time, which waits for it: it stands still while a busy machine does not let it speak.

    A real dial speaks on meanwhile; one that is computed in the program that listens to it would seem silent,
    and say everything at once afterwards.
    """

    def __init__(self, speed: float = 1.0) -> None:
        """Start now; it goes on as long as somebody calls `spoke`."""
        # In one piece, since reading threads look at the clock while the loop sets it.
        self._spoken = (time.monotonic(), 0.0)
        self._patience = _PATIENCE_S / speed
        super().__init__(speed, self._flowing)

    def _flowing(self) -> float:
        """Wall time less what the machine was stuck for, s."""
        spoken, stuck = self._spoken
        return min(time.monotonic(), spoken + self._patience) - stuck

    def spoke(self) -> None:
        """The rig gets its turn."""
        spoken, stuck = self._spoken
        now = time.monotonic()
        self._spoken = now, stuck + max(now - spoken - self._patience, 0.0)

    async def until(self, t: float) -> None:
        """Wait for a session time."""
        while (left := t - self()) > 0.0:  # noqa: ASYNC110 (it may stand still meanwhile)
            await asyncio.sleep(self.wall(left))


class RigPort:
    """Serves lines on `url`, a port that any serial program can open."""

    def __init__(self, line: Callable[[float], bytes], clock: SessionClock, *, polled: bool = False) -> None:
        """`line(t)` makes the line that the instrument sends at session time `t`."""
        self._line, self._clock, self._polled = line, clock, polled
        self.url = ""
        self._task: asyncio.Task[None] | None = None
        self._stack = contextlib.ExitStack()
        self._write: Callable[[bytes], None] = lambda data: None
        self._read: Callable[[], bytes] = lambda: b""

    async def __aenter__(self) -> "RigPort":
        """Open the instrument's end and start to speak."""
        try:
            self._open_pty()
        except (ImportError, OSError, AttributeError):
            self._open_socket()
        self._task = asyncio.create_task(self._answer() if self._polled else self._stream())
        return self

    async def __aexit__(self, *_: object) -> None:
        """Fall silent and close."""
        if self._task is not None:
            self._task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self._task
        self._stack.close()

    def _open_pty(self) -> None:
        import tty

        ours, theirs = os.openpty()
        self._stack.callback(os.close, ours)
        # Held open so that the line outlives a reader that closes and opens it again.
        self._stack.callback(os.close, theirs)
        for end in (ours, theirs):
            tty.setraw(end)
            os.set_blocking(end, False)
        self.url = os.ttyname(theirs)

        def write(data: bytes) -> None:
            # A full buffer means that nobody listens: a real instrument speaks on regardless.
            with contextlib.suppress(BlockingIOError):
                os.write(ours, data)

        def read() -> bytes:
            try:
                return os.read(ours, 256)
            except BlockingIOError:
                return b""

        self._write, self._read = write, read

    def _open_socket(self) -> None:
        server = self._stack.enter_context(socket.create_server(("127.0.0.1", 0)))
        server.setblocking(False)
        self.url = f"socket://127.0.0.1:{server.getsockname()[1]}"
        peers: list[socket.socket] = []

        def accept() -> None:
            with contextlib.suppress(BlockingIOError):
                peer, _ = server.accept()
                peer.setblocking(False)
                peers.append(self._stack.enter_context(peer))

        def write(data: bytes) -> None:
            accept()
            for peer in list(peers):
                try:
                    peer.send(data)
                except BlockingIOError:
                    pass
                except OSError:
                    peers.remove(peer)

        def read() -> bytes:
            accept()
            for peer in peers:
                with contextlib.suppress(OSError):
                    return peer.recv(256)
            return b""

        self._write, self._read = write, read

    async def _stream(self) -> None:
        due = self._clock()
        period = 1.0 / DIAL_RATE_HZ
        while True:
            if isinstance(self._clock, RigClock):
                self._clock.spoke()
            now = self._clock()
            lines = []
            while due <= now:
                lines.append(self._line(due))
                due += period
            if lines:
                self._write(b"".join(lines))
            await asyncio.sleep(min(self._clock.wall(period), _LONGEST_TICK_S))

    async def _answer(self) -> None:
        while True:
            for _ in range(self._read().count(b"\r")):
                self._write(self._line(self._clock()))
            await asyncio.sleep(0.002)
