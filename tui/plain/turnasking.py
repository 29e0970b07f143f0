"""An encoder's counts learnt on the terminal: the crank is turned once, and a person says what is open."""

import sys
from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from coaxly.logger.angle.turn import Turn, TurnError, encoder_lines, turned
from coaxly.logger.profile import Profile

from ..errors import NoResult, UsageError
from ..output import message
from ..say.turning import ASK_COUNTS, ASK_WRAP, LITTLE, NOT_SO_MANY, OFFER_COUNTS, TURN, setting_tried
from .profilelines import heard_for

TURN_S: Final = 20.0
_TURNS: Final = 3


async def encoder_asked(port: str, settings: Iterable[Profile], seconds: float) -> Profile:
    """How the encoder at a port talks and counts. Raises PortError; NoResult where nothing makes sense of it,
    UsageError where nobody answers."""
    message(LITTLE)
    line = await _speaking(port, settings, seconds)
    for _ in range(_TURNS):
        message(TURN.format(seconds=TURN_S))
        found = encoder_lines(await heard_for(port, line, TURN_S), line)
        try:
            if found is None:
                raise TurnError("its lines changed: they are no encoder's now")
            turn = turned(found[1])
            counts = _counts(turn)
            wrap = turn.wrap(counts)
            wrap = _wrap() if wrap is None else wrap
            return replace(found[0], counts_per_turn=counts, wrap=wrap, direction=turn.direction)
        except TurnError as error:
            message(f"{error}. Once more.")
    raise NoResult(f"{port}: {_TURNS} turns told nothing that can be believed, so nothing was kept")


async def _speaking(port: str, settings: Iterable[Profile], seconds: float) -> Profile:
    for line in settings:
        message(setting_tried(line))
        if encoder_lines(await heard_for(port, line, seconds), line) is not None:
            return line
    raise NoResult(f"{port}: no encoder's lines came at any setting. Is it on? Give its speed with --baud")


def _counts(turn: Turn) -> float:
    """Counts for one turn, said by a person. Raises TurnError where they are not what came."""
    usual = turn.usual
    message((OFFER_COUNTS if usual else ASK_COUNTS).format(came=turn.counts, usual=usual))
    counts = _number(float(usual) if usual else None)
    turn.told(counts)
    return counts


def _wrap() -> float:
    message(ASK_WRAP)
    return _number(0.0)


def _number(enter: float | None) -> float:
    """A number above 0 that is typed; enter: what Enter alone says, None for nothing. Raises UsageError where
    the terminal has gone."""
    while True:
        answer = sys.stdin.readline()
        if not answer:
            raise UsageError("nobody answers, so nothing was written")
        text = answer.strip()
        if not text and enter is not None:
            return enter
        if text.isascii() and text.isdigit() and 0 < int(text) <= 2**64:
            return float(text)
        message(NOT_SO_MANY)
