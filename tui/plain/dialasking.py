"""The questions about a dial's lines on the terminal, one at a time, while its port is listened to."""

import asyncio
from typing import Final

from coaxly.logger.line.portscan import TRIAL_S, Hearing
from coaxly.logger.line.questions import CODED

from ..output import message
from ..say.sweep import dialhunt
from .asking import answered, asked_unit

_PUSHES: Final = 3
"""Times that somebody is asked to push the plunger before it is given up."""
_TRIALS: Final = 2
_SHOWN: Final = 6
"""Times that somebody is asked what the display shows."""
STOP: Final = "press Enter alone and run this again"
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
