"""Lines that have got through: said on a pseudo-terminal, read at its other end, and given their time of arrival.

Two ports are read by two threads, so that what is said on both at once may arrive either way round.
"""

import asyncio
from typing import Final

from clockwork import until

from coaxly.logger.port.arrivals import Arrivals

_STEP_S: Final = 0.001
_put = Arrivals.put
_came = 0


def _counted(self, inlet, action, size):
    global _came
    _put(self, inlet, action, size)
    _came += size


Arrivals.put = _counted


async def carried(wire, data):
    """Say it, and wait until it has arrived; nothing else is said meanwhile. Time passes in any case: what came
    before it was earlier, however quick the thread that reads."""
    before = _came
    await asyncio.sleep(_STEP_S)
    wire.say(data)
    await until(lambda: _came >= before + len(data), _STEP_S)
