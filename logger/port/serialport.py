"""A serial port as an asyncio source: opened exclusively, reopened after a loss, never silent.

Bytes are read by a thread of the port's own (`portthread`, which says why) and wait in a bounded
queue (`arrivals`) until the program's loop takes them.
"""

import asyncio
import errno
import os
import sys
import threading
from collections import defaultdict
from collections.abc import Callable
from concurrent.futures import Future
from functools import partial
from pathlib import Path
from typing import Any, Final

import serial

from ..errors import PortError
from ..profile import Profile
from .arrivals import Arrivals, Inlet
from .ports import ports, resolve
from .portthread import PortThread

_locks: defaultdict[str, threading.Lock] = defaultdict(threading.Lock)


class Opening:
    """One attempt. url: the port; opened: opens it, and may take its time."""

    def __init__(self, url: str, opened: Callable[[], Any]) -> None:
        self._url, self._opened = url, opened
        self._own = threading.Lock()
        self._left = False
        self._port: Any = None

    def begin(self) -> "asyncio.Future[Any]":
        """The port, or whatever opening it raises, from a thread for which nobody has to wait at the end of
        the program."""
        future: Future[Any] = Future()
        future.set_running_or_notify_cancel()  # who cancels it only stops to wait

        def run() -> None:
            try:
                future.set_result(self._run())
            except BaseException as error:
                future.set_exception(error)

        threading.Thread(target=run, name="opening a port", daemon=True).start()
        return asyncio.wrap_future(future)

    def _run(self) -> Any:
        """The port; closed where nobody wants it any more."""
        with _locks[self._url]:
            if self._left:
                return None
            port = self._opened()
            with self._own:
                self._port = port
                if self._left:
                    port.close()
        return port

    def leave(self) -> None:
        """Nobody wants it any more."""
        with self._own:
            self._left = True
            if self._port is not None:
                self._port.close()


try:
    import termios

    _DRIVER_ERRORS: tuple[type[Exception], ...] = (OSError, ValueError, termios.error)
except ImportError:
    _DRIVER_ERRORS = (OSError, ValueError)

RETRY_S: Final = 0.5
_TRIES: Final = 4
_PASSES_S: Final = 2.0
_NOT_THERE: Final = frozenset((errno.EHOSTDOWN, errno.EHOSTUNREACH, errno.ETIMEDOUT))
_PASSING: Final = _NOT_THERE | {errno.EBUSY, errno.ECONNRESET, errno.ECONNABORTED}
"""What a Bluetooth adapter says of an instrument that it is still looking for, or has just let go."""


class SerialSource:
    """Bytes of one port, handed to `on_data`; `on_link` hears "up" and "lost".

    on_gap hears how many bytes were lost because they came faster than they were taken in: what
    `on_data` gets next does not follow on what it got before.
    """

    def __init__(
        self,
        url: str,
        profile: Profile,
        on_data: Callable[[bytes], None],
        on_link: Callable[[str], None],
        arrivals: Arrivals | None = None,
        on_gap: Callable[[int], None] = lambda missed: None,
    ) -> None:
        """`url`: a device or any pyserial URL. Nothing is opened yet.

        arrivals: the queue of a sweep, shared by its ports; it tells when a chunk arrived.
        """
        self.url = url
        self.profile = profile
        self._on_data, self._on_link, self._on_gap = on_data, on_link, on_gap
        self._arrivals = arrivals or Arrivals()
        self._inlet: Inlet | None = None
        self._thread: PortThread | None = None

    async def open(self) -> asyncio.Future[None]:
        """Open the port. Returns a future that is done when the port is lost.

        Raises PortError in words.
        """
        lost: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        opening = Opening(self.url, lambda: _opened(resolve(self.url), self.profile))
        try:
            port = await opening.begin()
        except asyncio.CancelledError:
            opening.leave()
            raise
        except _DRIVER_ERRORS as error:
            passing = getattr(error, "errno", None) in _PASSING
            raise PortError(self.url, explain(error, self.url), passing=passing) from error
        self._inlet = self._arrivals.inlet(self._on_data, self._on_gap)
        self._thread = PortThread(port, self._inlet, partial(_done, lost), self.profile.pause_s)
        self._on_link("up")
        self._thread.start()
        return lost

    async def run(self) -> None:
        """Keep the port open, through losses, until cancelled.

        Raises PortError only if it cannot be opened at first: later on it is tried again and again.
        """
        lost = await self._first()
        try:
            while True:
                await self._until_lost(lost)
                self._on_link("lost")
                lost = await self._reopen()
        finally:
            self.close()

    async def _first(self) -> "asyncio.Future[None]":
        """Open it; once more where the reason may pass, as over Bluetooth. Raises PortError."""
        for _ in range(_TRIES - 1):
            try:
                return await self.open()
            except PortError as error:
                if not error.passing:
                    raise
            await asyncio.sleep(_PASSES_S)
        return await self.open()

    async def _until_lost(self, lost: "asyncio.Future[None]") -> None:
        """Wait for the loss, asking for readings meanwhile if the instrument wants to be asked."""
        if not self.profile.polled:
            await lost
            return
        request = self.profile.request.encode("latin-1")
        while not lost.done():
            self.send(request)
            await asyncio.wait([lost], timeout=self.profile.period_s)

    def send(self, data: bytes) -> None:
        """Ask once; nothing happens while the port is not open."""
        if self._thread is not None:
            self._thread.write(data)

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
        thread, self._thread = self._thread, None
        if thread is not None:
            thread.stop()
        if self._inlet is not None:
            self._inlet.close()


def _done(future: "asyncio.Future[None]") -> None:
    if not future.done():
        future.set_result(None)


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
    try:
        if os.name != "nt":
            port.fileno()  # what cannot be waited for is no line of an instrument
    except Exception:
        port.close()
        raise
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


def _named_number(error: BaseException) -> int | None:
    """On Windows pyserial tells only in words what the system said: "... FileNotFoundError(2, ..."."""
    names = {"FileNotFoundError": errno.ENOENT, "PermissionError": errno.EACCES}
    return next((number for name, number in names.items() if f"{name}(" in str(error)), None)


def explain(error: BaseException, url: str = "") -> str:
    """What an error at opening means to the person at the bench, and what to do."""
    number = getattr(error, "errno", None) or _named_number(error)
    if number in (errno.ENOENT, errno.ENXIO, errno.ENODEV):
        there = ", ".join(port.name for port in ports()) or "none"
        return f"no such port. 'coaxly ports' lists those there are ({there}); is the cable in?"
    if number == errno.EACCES and sys.platform != "win32":  # where it means that somebody has it open
        group = "root" if sys.platform == "darwin" else _group_of(url)  # which has no group for ports
        if group == "root":
            return "no permission: only root may use it. Ask whoever looks after this computer"
        return f"no permission. Run 'sudo usermod -aG {group} $USER', then log out and in again"
    if number in (errno.EBUSY, errno.EAGAIN, errno.EACCES) or "exclusively lock" in str(error):
        return "in use by another program, or just unplugged: close the other program or replug"
    if number in _NOT_THERE:
        return "it does not answer: is the instrument switched on, near enough and, with Bluetooth, paired?"
    if number == errno.ECONNREFUSED or "refused" in str(error):
        return "nobody answers at that address: is the device switched on, and the port number right?"
    if number == errno.EISDIR or os.strerror(errno.ENOTTY) in str(error):
        kind = "is a folder" if Path(url).is_dir() else "is a file" if Path(url).is_file() else "exists"
        return f"this {kind}, and is no serial port: 'coaxly ports' lists those there are"
    return f"cannot be opened: {error}"


def _group_of(url: str) -> str:
    try:
        import grp

        return grp.getgrgid(Path(url).stat().st_gid).gr_name
    except (ImportError, OSError, KeyError):
        return "dialout"
