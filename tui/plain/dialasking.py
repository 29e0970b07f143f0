"""The questions about the lines of a dial or an encoder on the terminal, while the port is listened to."""

import asyncio
from collections.abc import Sequence
from typing import Final

from coaxly.logger.angle.turn import Turn, TurnError, typed_count
from coaxly.logger.errors import PortError
from coaxly.logger.line.portscan import TRIAL_S, Hearing
from coaxly.logger.line.questions import CODED
from coaxly.logger.profile import Profile

from ..errors import NoResult
from ..job.many.oneport import EncoderEar
from ..output import message
from ..say import turning
from ..say.sweep import dialhunt
from ..say.sweep.dialhunt import within
from .asking import answered, asked_unit

_PUSHES: Final = 3
"""Times that somebody is asked to push the plunger before it is given up."""
_TRIALS: Final = 2
_SHOWN: Final = 6
"""Times that somebody is asked what the display shows."""
STOP: Final = "press Enter alone and run this again"
_TURN_S: Final = 20.0
_TURNS: Final = 3
_FRESH_S: Final = 0.4
"""After an answer: what the dial says now is still on its way."""


async def asked_all(hearing: Hearing, seconds: float) -> str:
    """Ask until nothing is open, then try what was understood. seconds: for each thing that is to be moved.
    Returns why it is not to be kept, "" if it is. Raises UsageError where nobody answers."""
    why = ""
    for _ in range(_TRIALS):
        if why := await _settled(hearing, seconds):
            return why
        if not await _confirmed(hearing):
            return dialhunt.FITS_NOTHING
        if hearing.understood is None:
            return dialhunt.NO_SENSE
        hearing.begin_trial()
        await _while(hearing, dialhunt.TRY, TRIAL_S)
        if hearing.passed:
            return ""
        why = dialhunt.not_kept_words(hearing)
        # What it says while it is pushed may have been unheard so far: a minus, another width.
        hearing.learn()
    return why


async def _settled(hearing: Hearing, seconds: float) -> str:
    """Ask until nothing is open; why there is nothing to be kept, "" if there is."""
    pushes = 0
    while (question := hearing.question) is not None:
        words = dialhunt.question_words(hearing)
        if question.about in CODED:
            return words
        if question.about == "plunger":
            pushes += 1
            if pushes > _PUSHES:
                return dialhunt.NOTHING_FOLLOWS
            hearing.push()
            await _while(hearing, words, seconds)
        elif question.about == "crank":
            hearing.turn_crank()
            await _while(hearing, words, seconds)
            hearing.tell(still=True)
        elif question.about == "unit":
            hearing.tell(unit=asked_unit())
        elif question.about == "which":
            hearing.tell(which=_which(hearing, words))
        elif not await _shown(hearing, words):
            return dialhunt.FITS_NOTHING
    return "" if hearing.display else dialhunt.NO_SENSE


async def _while(hearing: Hearing, words: str, seconds: float) -> None:
    message(f"{words} {dialhunt.within(seconds)}")
    await asyncio.sleep(seconds)
    hearing.look()


def _which(hearing: Hearing, words: str) -> tuple[int, int]:
    assert hearing.understood is not None and hearing.question is not None
    choices = dialhunt.choices_of(hearing.understood)
    listed = "; ".join(f"{key}: {text}" for key, _, text in choices)
    while True:
        message(f"{words} {listed}. Type its number, 1 to {len(choices)}.")
        answer = answered()
        if any(answer == key for key, _, _ in choices):
            return hearing.question.choices[int(answer) - 1][0]


async def _shown(hearing: Hearing, words: str) -> bool:
    """What the display shows, until it tells the factor; False where it never does."""
    settled_nothing = 0
    for _ in range(_SHOWN):
        message(words)
        if not (answer := answered()):
            return False
        await asyncio.sleep(_FRESH_S)
        try:
            if hearing.shows(answer):
                return True
            settled_nothing += 1
            words = dialhunt.again_words(settled_nothing, STOP)
        except ValueError as error:
            words = dialhunt.typed_words(error)
    return False


async def _confirmed(hearing: Hearing) -> bool:
    """The display shows what will be kept, or something else, which is typed, and told the factor."""
    if hearing.told.factor:
        return True
    message(f"{dialhunt.CONFIRM.format(display=hearing.display)} Enter: yes. Else type what it shows.")
    if answer := answered():
        await asyncio.sleep(_FRESH_S)
        try:
            known = hearing.shows(answer)
        except ValueError:
            known = False
        return known or await _shown(hearing, dialhunt.AGAIN)
    return True


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
            message(f"{turning.TURN} {within(_TURN_S)}")
            ear.hearing.begin()
            await asyncio.sleep(_TURN_S)
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
