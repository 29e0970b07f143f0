"""A port opened in a thread of its own: one over Bluetooth takes seconds, and nothing else may stand still.

Whoever no longer waits for it goes on at once; the thread closes what it then opens, and another that
wants the same port waits until it has.
"""

import threading
from collections import defaultdict
from collections.abc import Callable
from concurrent.futures import Executor, Future
from typing import Any, Final, ParamSpec, TypeVar

_T = TypeVar("_T")
_P = ParamSpec("_P")

_locks: defaultdict[str, threading.Lock] = defaultdict(threading.Lock)


class Threads(Executor):
    """A thread for each call, for which nobody has to wait at the end of the program."""

    def submit(self, fn: Callable[_P, _T], /, *args: _P.args, **kwargs: _P.kwargs) -> Future[_T]:
        """Begin it."""
        future: Future[_T] = Future()
        future.set_running_or_notify_cancel()

        def run() -> None:
            try:
                result = fn(*args, **kwargs)
            except BaseException as error:
                future.set_exception(error)
            else:
                future.set_result(result)

        threading.Thread(target=run, name="opening a port", daemon=True).start()
        return future


THREADS: Final = Threads()


class Opening:
    """One attempt. url: the port; opened: opens it, and may take its time."""

    def __init__(self, url: str, opened: Callable[[], Any]) -> None:
        self._url, self._opened = url, opened
        self._own = threading.Lock()
        self._left = False
        self._port: Any = None

    def run(self) -> Any:
        """The port; closed where nobody wants it any more. Raises whatever opening it raises."""
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
