"""An encoder's counts learnt on the terminal: the crank is turned once, and a person says what is open."""

import asyncio
from collections.abc import Sequence
from typing import Final

from coaxly.logger.angle.turn import Turn, TurnError, typed_count
from coaxly.logger.errors import PortError
from coaxly.logger.profile import Profile

from ..errors import NoResult
from ..job.many.oneport import EncoderEar
from ..output import message
from ..say import turning
from ..say.sweep.dialhunt import within
from .asking import answered

TURN_S: Final = 20.0
_TURNS: Final = 3


async def encoder_asked(port: str, settings: Sequence[Profile], seconds: float) -> Profile:
    """How the encoder at a port talks and counts. Raises PortError; NoResult where nothing makes sense of it,
    UsageError where nobody answers."""
    message(turning.LITTLE)
    ear = EncoderEar(port, settings, seconds)
    ear.on_setting = lambda line: message(turning.setting_tried(line))
    task = asyncio.create_task(ear.listen())
    try:
        await _speaking(ear)
        for _ in range(_TURNS):
            message(f"{turning.TURN} {within(TURN_S)}")
            ear.hearing.begin()
            await asyncio.sleep(TURN_S)
            try:
                line, turn = ear.hearing.turned()
                counts = _counts(turn)
                wrap = turn.wrap(counts)
                return turn.kept(line, counts, _wrap() if wrap is None else wrap)
            except TurnError as error:
                message(f"{error}. {turning.AGAIN}")
        raise NoResult(f"{port}: {_TURNS} turns told nothing that can be believed, so nothing was kept")
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


async def _speaking(ear: EncoderEar) -> None:
    """Wait until an encoder speaks. Raises what is wrong."""
    slow = False
    while not ear.hearing.speaks:
        await asyncio.sleep(0.1)
        if ear.slow and not slow:
            slow = True
            message(turning.ear_words(ear))
        if ear.state == "failed" and not ear.opened:
            raise PortError(ear.port, ear.why.removeprefix(f"{ear.port}: "))
        if ear.rounds:
            raise NoResult(
                f"{ear.port}: no encoder's lines came at any setting. Is it on? Give its speed with --baud"
            )


def _counts(turn: Turn) -> float:
    """Counts for one turn, said by a person. Raises TurnError where they are not what came."""
    message(turning.counts_question(turn, "Enter"))
    counts = _number(float(turn.usual) if turn.usual else None)
    turn.told(counts)
    return counts


def _wrap() -> float:
    message(turning.ASK_WRAP)
    return _number(0.0)


def _number(enter: float | None) -> float:
    """A number above 0 that is typed; enter: what Enter alone says, None for nothing. Raises UsageError where
    the terminal has gone."""
    while True:
        answer = answered()
        if not answer and enter is not None:
            return enter
        if (number := typed_count(answer)) is not None:
            return number
        message(turning.NOT_SO_MANY)
