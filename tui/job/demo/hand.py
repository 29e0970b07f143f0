"""The hand at the built-in engine: it turns the crank and taps the housing while the dial's lines are
read.
"""

import asyncio
from collections.abc import Coroutine
from typing import Any

from coaxly.fitter.units import MM_PER_INCH
from coaxly.logger.rig.engine import Rig


def dial_line(rig: Rig, on_deg: float, t: float) -> bytes:
    """What a dial says in inches at time t, s, that stands so far on from the first one."""
    return f"{rig.reading(t, on_deg) / MM_PER_INCH:+09.5f}\r\n".encode()


async def with_a_hand(work: Coroutine[Any, Any, None], hand: Coroutine[Any, Any, None]) -> None:
    """Until the work is done. A hand that is done first leaves the work to come to its end; whichever of the
    two fails ends both, and its error is raised."""
    working, moving = asyncio.create_task(work), asyncio.create_task(hand)
    done, pending = await asyncio.wait({working, moving}, return_when=asyncio.FIRST_COMPLETED)
    if moving in done and not moving.cancelled() and moving.exception() is None:
        await working
    for task in pending:
        task.cancel()
    await asyncio.gather(*pending, return_exceptions=True)
    for task in done:
        task.result()
