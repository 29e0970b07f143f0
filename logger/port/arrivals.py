"""What came in on the ports, in order of arrival, on its way from reading threads to the program's loop.

Whoever takes things in may be busy drawing, computing or writing for a while; what arrives meanwhile
waits here with its time of arrival. What waits is bounded: beyond that it is lost, counted and said.
One queue serves all ports of a sweep, so that an encoder's lines and a dial's stay in order.
"""

import asyncio
import math
import threading
from collections import deque
from collections.abc import Callable
from functools import partial
from typing import Final

from ..clock import Clock, SessionClock

CAPACITY: Final = 8 * 2**20
"""Bytes that may wait: about a minute of a thousand short lines a second."""

WEIGHT: Final = 128
"""What a chunk costs beside its bytes."""

BATCH_S: Final = 0.012
"""How long what arrives may wait for more, where nobody waits for it: handed over one by one, a thousand
lines a second cost more in waking up than in reading. What comes after a silence does not wait."""

_AT_ONCE: Final = 64
"""Chunks handed over before the loop gets its turn, so that a flood leaves the keys alive."""


class Arrivals:
    """A bounded queue of chunks: inlets put them in, in any thread; the loop's own thread takes."""

    def __init__(self, clock: Clock | None = None, capacity: int = CAPACITY) -> None:
        """clock: tells the time of arrival; that of a session, so that a recording can use it."""
        self.at = 0.0
        """What the clock showed when the chunk that is just being handed over arrived, s."""
        self.batch_s = 0.0
        """How long a chunk may wait for others."""
        self.handing = False
        """Whether chunks are being handed over."""
        self.handed: Callable[[], None] = lambda: None
        """Called when some have been, one after the other, however many."""
        self._clock: Clock = clock or SessionClock()
        self._capacity = capacity
        self._lock = threading.Lock()
        self._waiting: deque[tuple[float, Inlet, Callable[[], None], int]] = deque()
        self._inlets: list[Inlet] = []
        self._held, self._newest = 0, 0.0
        self._called = False
        self._due = -math.inf
        self._loop: asyncio.AbstractEventLoop | None = None

    def inlet(self, on_data: Callable[[bytes], None], on_gap: Callable[[int], None]) -> "Inlet":
        """A way in for one port. on_gap hears how many bytes were lost, where they are missing.

        To be called in the loop that takes.
        """
        self._loop = asyncio.get_running_loop()
        inlet = Inlet(self, on_data, on_gap)
        self._inlets.append(inlet)
        return inlet

    def close(self, inlet: "Inlet") -> None:
        """Nothing more of this port, not even what waits."""
        inlet.closed = True
        if inlet in self._inlets:
            self._inlets.remove(inlet)

    def put(self, inlet: "Inlet", action: Callable[[], None], size: int) -> None:
        """Add what is to be done with `size` bytes (0: no bytes, always taken), stamped now."""
        cost = size + WEIGHT
        with self._lock:
            self._newest = self._clock()
            if size and self._held + cost > self._capacity:
                inlet.missed += size
                return
            if inlet.missed:
                self._waiting.append((self._newest, inlet, inlet.gap(), 0))
            self._waiting.append((self._newest, inlet, action, cost))
            self._held += cost
            if self._called or self._loop is None:
                return
            self._called = True
        self._call(self._soon)

    def take(self) -> None:
        """Hand over all that waits.

        Called before the time is looked at for anything else, it keeps things in order of time.
        """
        self._take(len(self._waiting) + len(self._inlets))

    def _call(self, what: Callable[[], None]) -> None:
        assert self._loop is not None
        try:
            self._loop.call_soon_threadsafe(what)
        except RuntimeError:
            return  # the loop has ended, and with it everybody who would listen

    def _soon(self) -> None:
        assert self._loop is not None
        if (wait := self._due - self._loop.time()) > 0.0:
            self._loop.call_later(wait, self._some)
        else:
            self._some()

    def _some(self) -> None:
        assert self._loop is not None
        self._due = self._loop.time() + self.batch_s
        with self._lock:
            self._called = False
        try:
            self._take(_AT_ONCE)
        finally:
            with self._lock:
                again = bool(self._waiting) and not self._called
                self._called = self._called or again
            if again:
                self._call(self._some)

    def _take(self, most: int) -> None:
        if self.handing:
            return  # asked by what is just being handed over
        self.handing = True
        try:
            for _ in range(most):
                if (first := self._first()) is None:
                    break
                self.at, inlet, action, _ = first
                if not inlet.closed:
                    action()
        finally:
            self.handing = False
            self.handed()

    def _first(self) -> "tuple[float, Inlet, Callable[[], None], int] | None":
        """The oldest; behind it all, what was lost of a port that has said nothing since."""
        with self._lock:
            if self._waiting:
                first = self._waiting.popleft()
                self._held -= first[3]
                return first
            missing = next((inlet for inlet in self._inlets if inlet.missed), None)
            return None if missing is None else (self._newest, missing, missing.gap(), 0)


class Inlet:
    """One port's way into a queue."""

    def __init__(
        self, arrivals: Arrivals, on_data: Callable[[bytes], None], on_gap: Callable[[int], None]
    ) -> None:
        """See `Arrivals.inlet`."""
        self.missed = 0
        self.closed = False
        self._arrivals, self._on_data, self._on_gap = arrivals, on_data, on_gap

    def put(self, data: bytes) -> None:
        """Bytes that arrived now; in any thread."""
        if data:
            self._arrivals.put(self, partial(self._on_data, data), len(data))

    def paused(self) -> None:
        """Nothing came for as long as ends a line: said by an arrival of no bytes."""
        self._arrivals.put(self, partial(self._on_data, b""), 0)

    def end(self, action: Callable[[], None]) -> None:
        """The port has gone: `action` is called after all that it sent."""
        self._arrivals.put(self, action, 0)

    def gap(self) -> Callable[[], None]:
        """What says that bytes are missing here; the count begins anew. Called with the queue locked."""
        missed, self.missed = self.missed, 0
        return partial(self._on_gap, missed)

    def close(self) -> None:
        """Nothing more is handed over."""
        self._arrivals.close(self)
