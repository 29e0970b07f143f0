"""A port opened in a thread of its own: one over Bluetooth takes seconds, and nothing else may stand still.

Whoever no longer waits for it goes on at once; the thread closes what it then opens, and another that
wants the same port waits until it has.
"""

import asyncio
import threading
from collections import defaultdict
from collections.abc import Callable
from concurrent.futures import Future
from typing import Any

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
