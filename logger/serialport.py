"""A serial port as an asyncio source: opened exclusively, reopened after a loss, never silent.

pyserial-asyncio is no longer maintained, so it stays behind this one module, which expects any
error from it and always ends or restarts the stream.
"""

import asyncio
import errno
from collections.abc import Callable
from typing import Any, Final

import serial_asyncio

from .errors import PortError
from .profile import Profile

RETRY_S: Final = 0.5


class SerialSource:
    """Bytes of one port, handed to `on_data`; `on_link` hears "up" and "lost"."""

    def __init__(
        self,
        url: str,
        profile: Profile,
        on_data: Callable[[bytes], None],
        on_link: Callable[[str], None],
    ) -> None:
        """`url`: a device or any pyserial URL. Nothing is opened yet."""
        self.url = url
        self.profile = profile
        self._on_data, self._on_link = on_data, on_link
        self._transport: Any = None

    async def open(self) -> asyncio.Future[None]:
        """Open the port. Returns a future that is done when the port is lost.

        Raises PortError in words.
        """
        loop = asyncio.get_running_loop()
        lost: asyncio.Future[None] = loop.create_future()
        profile = self.profile
        try:
            self._transport, _ = await serial_asyncio.create_serial_connection(
                loop,
                lambda: _Protocol(self._on_data, lost),
                self.url,
                baudrate=profile.baud,
                bytesize=profile.bytesize,
                parity=profile.parity,
                stopbits=profile.stopbits,
                exclusive=True,
            )
        except (OSError, ValueError) as error:
            raise PortError(self.url, explain(error)) from error
        self._on_link("up")
        return lost

    async def run(self) -> None:
        """Keep the port open, through losses, until cancelled.

        Raises PortError only if the first attempt fails: later ones are tried again and again.
        """
        lost = await self.open()
        try:
            while True:
                await self._until_lost(lost)
                self._on_link("lost")
                lost = await self._reopen()
        finally:
            self.close()

    async def _until_lost(self, lost: "asyncio.Future[None]") -> None:
        """Wait for the loss, asking for readings meanwhile if the instrument wants to be asked."""
        if not self.profile.polled:
            await lost
            return
        request = self.profile.request.encode("latin-1")
        while not lost.done():
            self._transport.write(request)
            await asyncio.wait([lost], timeout=self.profile.period_s)

    async def _reopen(self) -> "asyncio.Future[None]":
        while True:
            self.close()
            await asyncio.sleep(RETRY_S)
            try:
                return await self.open()
            except PortError:
                continue

    def close(self) -> None:
        """Close the port; whatever the driver says about it."""
        transport, self._transport = self._transport, None
        if transport is not None:
            # The device may be gone: its clean-up then fails inside the library.
            try:
                transport.abort()
            except Exception:
                transport = None


class _Protocol(asyncio.Protocol):
    def __init__(self, on_data: Callable[[bytes], None], lost: "asyncio.Future[None]") -> None:
        self._on_data, self._lost = on_data, lost

    def data_received(self, data: bytes) -> None:
        if data:
            self._on_data(data)

    def connection_lost(self, exc: Exception | None) -> None:
        if not self._lost.done():
            self._lost.set_result(None)


def explain(error: BaseException) -> str:
    """What an error at opening means to the person at the bench, and what to do."""
    number = getattr(error, "errno", None)
    if number in (errno.ENOENT, errno.ENXIO, errno.ENODEV):
        return "no such port. 'coaxly ports' lists those there are; is the cable in?"
    if number == errno.EACCES:
        return "no permission. Add yourself to the port's group (often dialout) and log in again"
    if number in (errno.EBUSY, errno.EAGAIN) or "exclusively lock" in str(error):
        return "in use by another program, or just unplugged: close the other program or replug"
    if isinstance(error, ConnectionRefusedError) or number == errno.ECONNREFUSED:
        return "nobody answers at that address"
    return f"cannot be opened: {error}"
