"""The hand at the built-in engine: it turns the crank and taps the housing while the dial's lines are
read.
"""

import asyncio
from collections.abc import Coroutine
from typing import Any


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
