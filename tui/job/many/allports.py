"""All ports listened to at once, until one makes sense."""

import asyncio
from collections.abc import Callable, Sequence

from .oneport import Ear


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
