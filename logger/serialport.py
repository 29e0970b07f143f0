"""A serial port as an asyncio source: opened exclusively, reopened after a loss, never silent.

pyserial-asyncio is no longer maintained, so it stays behind this one module, which expects any
error from it and always ends or restarts the stream.
"""

import asyncio
import errno
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import serial
import serial_asyncio

from .errors import PortError
from .ports import ports, resolve
from .profile import Profile

try:
    import termios

    _DRIVER_ERRORS: tuple[type[Exception], ...] = (OSError, ValueError, termios.error)
except ImportError:
    _DRIVER_ERRORS = (OSError, ValueError)

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
            port = _opened(resolve(self.url), profile)
            self._transport, _ = await serial_asyncio.connection_for_serial(
                loop, lambda: _Protocol(self._on_data, lost), port
            )
        except _DRIVER_ERRORS as error:
            raise PortError(self.url, explain(error, self.url)) from error
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


def _opened(url: str, profile: Profile) -> Any:
    """The port, opened for us alone, with its control lines left in peace unless the profile says so."""
    port = serial.serial_for_url(
        url,
        do_not_open=True,
        baudrate=profile.baud,
        bytesize=profile.bytesize,
        parity=profile.parity,
        stopbits=profile.stopbits,
        exclusive=True,
    )
    if profile.dtr is not None:
        port.dtr = profile.dtr
    if profile.rts is not None:
        port.rts = profile.rts
    port.open()
    _keep_lines_on_close(port)
    return port


def _keep_lines_on_close(port: Any) -> None:
    """Closing would drop DTR and reset a microcontroller; not every port can be told."""
    try:
        state = termios.tcgetattr(port.fileno())
        state[2] &= ~termios.HUPCL
        termios.tcsetattr(port.fileno(), termios.TCSANOW, state)
    except Exception:
        return


class _Protocol(asyncio.Protocol):
    def __init__(self, on_data: Callable[[bytes], None], lost: "asyncio.Future[None]") -> None:
        self._on_data, self._lost = on_data, lost

    def data_received(self, data: bytes) -> None:
        if data:
            self._on_data(data)

    def connection_lost(self, exc: Exception | None) -> None:
        if not self._lost.done():
            self._lost.set_result(None)


def explain(error: BaseException, url: str = "") -> str:
    """What an error at opening means to the person at the bench, and what to do."""
    number = getattr(error, "errno", None)
    if number in (errno.ENOENT, errno.ENXIO, errno.ENODEV):
        there = ", ".join(port.by_id or port.device for port in ports()) or "none"
        return f"no such port. 'coaxly ports' lists those there are ({there}); is the cable in?"
    if number == errno.EACCES:
        group = _group_of(url)
        return f"no permission. Run 'sudo usermod -aG {group} $USER', then log out and in again"
    if number in (errno.EBUSY, errno.EAGAIN) or "exclusively lock" in str(error):
        return "in use by another program, or just unplugged: close the other program or replug"
    if isinstance(error, ConnectionRefusedError) or number == errno.ECONNREFUSED:
        return "nobody answers at that address"
    return f"cannot be opened: {error}"


def _group_of(url: str) -> str:
    try:
        import grp

        return grp.getgrgid(Path(url).stat().st_gid).gr_name
    except (ImportError, OSError, KeyError):
        return "dialout"
