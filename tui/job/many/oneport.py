"""One port listened to, at one line setting after the other, until its lines make sense; what only answers is
asked; an encoder is heard while it is turned, and several ports one after the other.
"""

import asyncio
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Final, Literal

from coaxly.logger.angle.turn import TurnHearing
from coaxly.logger.errors import PortError
from coaxly.logger.line.listen import settings_to_try
from coaxly.logger.line.portscan import Hearing
from coaxly.logger.line.questions import Told
from coaxly.logger.profile import Profile

from .openline import OpenLine

LOOK_S: Final = 0.4
_AGAIN_S: Final = 2.0

State = Literal["opening", "silent", "senseless", "speaks", "failed"]


class HeardPort:
    """One port that is listened to, at one line setting after the other.

    why: what went wrong, in words, where it failed. opened: whether it ever was. rounds: how often all
    settings were gone through. refused: settings that the port cannot do.
    """

    def __init__(self, port: str) -> None:
        """Nothing is opened yet."""
        self.port = port
        self.state: State = "opening"
        self.why, self.rounds, self.opened = "", 0, False
        self.refused: list[Profile] = []
        self.on_setting: Callable[[Profile], None] = lambda line: None
        self._open: OpenLine | None = None

    @property
    def slow(self) -> bool:
        """Whether it takes its time to open."""
        return self.state == "opening" and self._open is not None and self._open.slow

    async def _tried(self, line: Profile) -> None:
        """Listen at one setting; what cannot be opened at all is tried again after a while."""
        try:
            await self._at(line)
        except PortError as error:
            self.state, self.why = "failed", str(error)
            if self.opened:
                self.refused.append(line)
            else:
                await asyncio.sleep(_AGAIN_S)

    async def _at(self, line: Profile) -> None:
        """Listen at one setting for as long as that makes sense. Raises PortError."""
        raise NotImplementedError

    def _linked(self, state: str) -> None:
        self.opened |= state == "up"
        self.state, self.why = ("opening", "") if state == "up" else ("failed", "it was unplugged")


_PLAIN: Final = ("", "?", "R", "P", "D", "X", "READ?", "1")
REQUESTS: Final = (
    *(f"{word}{end}" for end in ("\r", "\r\n", "\n") for word in _PLAIN),
    "\x05", "\x02", " ", "?", "R", "P", "D", "X", "M", "1",
)  # fmt: skip
"""What instruments wait for, the usual first (common practice, no source). Bare letters come last: a board
that waits for the end of a line would take them for the beginning of the next."""

ASKED_AT: Final = (
    (9600, 8, "N"), (4800, 7, "E"), (115200, 8, "N"), (19200, 8, "N"), (4800, 8, "N"), (9600, 7, "E"),
    (38400, 8, "N"), (57600, 8, "N"), (2400, 7, "E"), (1200, 7, "E"), (2400, 8, "N"), (1200, 8, "N"),
)  # fmt: skip
"""Speeds and frames at which requests are tried."""

_SENSELESS: Final = 2.0
"""Times as long as silence that a line is heard of which nothing makes sense: it may only be slow."""
_FIRST: Final = 3
"""Settings after which a port that has not said a single byte is asked instead."""
_ANSWER_S: Final = 0.35
_LATE: Final = 4
"""So many requests back may be what a slow board answers."""
_BY_ITSELF_S: Final = 1.5
_FEWEST_PERIOD_S: Final = 0.1
_SLOW_S: Final = 1.0


class Ear(HeardPort):
    """One port that is listened to until its lines make sense.

    asks: whether it is asked if it says nothing. heard: the newest bytes.
    """

    def __init__(
        self,
        port: str,
        settings: Sequence[Profile] | None = None,
        *,
        asks: bool = False,
        told: Told | None = None,
        silent_s: float = 1.2,
        waits: bool = False,
    ) -> None:
        """Nothing is opened yet. settings: to try, all usual ones if nobody says. silent_s: how long a port
        that says nothing is heard at one of them. waits: see `Hearing`."""
        super().__init__(port)
        self.asks, self.heard = asks, b""
        self._settings = list(settings) if settings is not None else list(settings_to_try())
        self._told, self._silent_s, self._waits = told, silent_s, waits
        self.hearing = Hearing(self._settings[0], told, waits=waits)

    async def listen(self) -> None:
        """Go on until cancelled; a port that fails is tried again."""
        while True:
            for line in self._settings[:_FIRST]:
                await self._tried(line)
            if self.asks and not self.heard:
                await self._ask()
            for line in self._settings[_FIRST:]:
                await self._tried(line)
            if self.asks and self.heard:
                await self._ask()
            self.rounds += 1

    async def _ask(self) -> None:
        """Ask at one speed after the other for what the usual instruments wait for."""
        told = {(line.baud, line.bytesize, line.parity) for line in self._settings}
        for baud, bytesize, parity in [at for at in ASKED_AT if at in told] or sorted(told):
            line = Profile(name="heard", baud=baud, bytesize=bytesize, parity=parity)
            for request, period in await self._answered(line):
                await self._tried(replace(line, request=request, period_s=period) if request else line)

    async def _answered(self, line: Profile) -> list[tuple[str, float]]:
        """Requests that may have brought an answer, the likeliest first, each with a time to leave between
        two; "" where the port turned out to speak by itself."""
        data = bytearray()
        self.on_setting(replace(line, request="? and others"))
        try:
            async with OpenLine(self.port, line, data.extend, self._linked) as port:
                self._open = port
                await port.listen(_ANSWER_S)
                for k, request in enumerate(REQUESTS):
                    port.source.send(request.encode("latin-1"))
                    await port.listen(_ANSWER_S)
                    if any(chr(code).isdigit() for code in data.replace(request.encode("latin-1"), b"")):
                        self.heard = bytes(data[-64:])
                        return await self._candidates(data, k)
        except PortError:
            self.refused.append(line)
        return []

    async def _candidates(self, data: bytearray, k: int) -> list[tuple[str, float]]:
        await asyncio.sleep(_ANSWER_S)
        before = len(data)
        await asyncio.sleep(_BY_ITSELF_S)
        if len(data) > before + 12:
            return [("", 0.0)]  # it boots when it is opened, and then speaks unasked
        near = [REQUESTS[m] for m in range(k, max(k - _LATE, -1), -1)]
        # A board that is slow has answered one of those before; asked too fast it would answer that for long.
        slow = ((request, period) for period in (_SLOW_S, 2.0 * _ANSWER_S * _LATE) for request in near)
        return [(REQUESTS[k], 3.0 * _FEWEST_PERIOD_S), *slow]

    async def _at(self, line: Profile) -> None:
        loop = asyncio.get_running_loop()
        hearing = self.hearing = Hearing(line, self._told, waits=self._waits)
        self.on_setting(line)
        bytes_ = 0

        def feed(data: bytes) -> None:
            nonlocal bytes_
            bytes_ += len(data)
            self.heard = data[-64:] or self.heard
            hearing.feed(data, loop.time())

        patience = max(self._silent_s, 4.0 * line.period_s if line.polled else 0.0)
        async with OpenLine(self.port, line, feed, self._linked) as port:
            self._open = port
            while hearing.understood is not None or port.open_s < patience * (_SENSELESS if bytes_ else 1.0):
                await port.wait(min(LOOK_S, patience))
                hearing.look()
                if self.state != "failed" and port.open_s >= 0.0:
                    self.state = "speaks" if hearing.understood else "senseless" if bytes_ else "silent"


def settings_of(
    baud: int | None, parity: str | None, terminator: str | None, request: str | None
) -> Iterator[Profile]:
    """Line settings that somebody has said in part; the rest is tried."""
    usual = list(settings_to_try(baud))
    if parity is not None:
        usual = [line for line in usual if line.parity == parity] or [replace(usual[0], parity=parity)]
    for line in usual:
        yield replace(line, request=request or "", terminator=terminator or line.terminator)


class EncoderEar(HeardPort):
    """One port that is listened to, for as long as an encoder speaks at a setting.

    value: the newest, as it was sent; None before the first.
    """

    def __init__(self, port: str, settings: Sequence[Profile], seconds: float) -> None:
        """Nothing is opened yet. seconds: how long it is heard at one setting."""
        super().__init__(port)
        self.value: float | None = None
        self._settings, self._seconds = settings, seconds
        self.hearing = TurnHearing(settings[0])

    async def listen(self) -> None:
        """Go on until cancelled; a port that fails is tried again."""
        while True:
            for line in self._settings:
                await self._tried(line)
            self.rounds += 1

    async def _at(self, line: Profile) -> None:
        hearing = self.hearing = TurnHearing(line)
        self.on_setting(line)
        async with OpenLine(self.port, line, hearing.feed, self._linked) as port:
            self._open = port
            while hearing.speaks or port.open_s < self._seconds:
                await port.wait(min(LOOK_S, self._seconds))
                value = hearing.look()
                self.value = value if value is not None else self.value
                if self.state != "failed" and port.open_s >= 0.0:
                    self.state = "speaks" if hearing.speaks else "silent"


class Ears:
    """All ports at once, those that are plugged in meanwhile among them."""

    def __init__(self, there: Callable[[], Sequence[str]]) -> None:
        """there: names of the ports that there are now."""
        self._there = there
        self.ears: list[Ear] = []
        self._tasks: dict[str, asyncio.Task[None]] = {}
        self._asks = False

    def look(self) -> None:
        """Listen to ports that are new, and no longer to those that are gone."""
        there = list(self._there())
        for port in there:
            self.add(port)
        for ear in [ear for ear in self.ears if ear.port not in there and ear.port not in self._typed]:
            self._tasks.pop(ear.port).cancel()
            self.ears.remove(ear)

    _typed: frozenset[str] = frozenset()

    def add(self, port: str, *, typed: bool = False) -> None:
        """Listen to this port too. typed: somebody said its name, so it need not be listed."""
        if typed:
            self._typed |= {port}
        if port in self._tasks:
            return
        ear = Ear(port, asks=self._asks)
        self.ears.append(ear)
        self._tasks[port] = asyncio.create_task(ear.listen())

    def ask(self) -> None:
        """Ask ports for a reading as well: some dials only answer."""
        self._asks = True
        for ear in self.ears:
            ear.asks = True

    async def close(self) -> None:
        """Let go of all ports."""
        tasks = list(self._tasks.values())
        self._tasks.clear()
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
