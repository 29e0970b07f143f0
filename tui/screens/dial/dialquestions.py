"""The questions about a dial's lines on the screen, one at a time, while it is listened to."""

import asyncio
from typing import Final

from coaxly.logger.line.portscan import TRIAL_S, Hearing
from coaxly.logger.line.questions import CODED

from ...say.sweep import dialhunt
from ..base import Program
from ..small.askscreens import AskScreen, QuestionScreen

STOP: Final = "press Esc and take the port again"


class DialQuestions:
    """Asks until nothing is open and what was understood has been tried. words: what is to be done meanwhile
    on the page that listens, or why it was not kept; "" for nothing."""

    def __init__(self, app: Program, hearing: Hearing) -> None:
        """hearing: of the port that was picked; somebody feeds it all the while."""
        self._app, self._hearing = app, hearing
        self.words = ""
        self._done = asyncio.Event()

    def done(self) -> None:
        """Whoever turned the crank has done so."""
        self._done.set()

    async def settled(self) -> bool:
        """Whether the dial is known now, and may be kept."""
        hearing = self._hearing
        while (question := hearing.question) is not None:
            if question.about == "plunger" or question.about in CODED:
                self.words = dialhunt.question_words(hearing)
                return False
            if question.about == "crank":
                await self._crank()
            elif not await self._asked(question.about):
                return False
        if not hearing.display:
            self.words = dialhunt.NO_SENSE
            return False
        return await self._confirmed() and await self._tried()

    async def _crank(self) -> None:
        self._hearing.turn_crank()
        self.words = f"{dialhunt.question_words(self._hearing)} {dialhunt.ENTER_WHEN_DONE}"
        await self._done.wait()
        self.words = ""
        self._hearing.look()
        self._hearing.tell(still=True)

    async def _asked(self, about: str) -> bool:
        hearing, words = self._hearing, dialhunt.question_words(self._hearing)
        assert hearing.understood is not None and hearing.question is not None
        if about == "shows":
            return await self._shown(words)
        answers = dialhunt.UNITS_OF_DIALS if about == "unit" else dialhunt.choices_of(hearing.understood)
        answer = await self._app.push_screen_wait(QuestionScreen(words, answers))
        if about == "unit" and answer:
            hearing.tell(unit=answer)
        elif answer:
            hearing.tell(which=hearing.question.choices[int(answer)][0])
        return bool(answer)

    async def _shown(self, words: str) -> bool:
        """What the display shows, until it tells the factor."""
        settled_nothing = 0
        while answer := await self._app.push_screen_wait(AskScreen(words)):
            try:
                if self._hearing.shows(answer):
                    return True
                settled_nothing += 1
                words = dialhunt.again_words(settled_nothing, STOP)
            except ValueError as error:
                words = dialhunt.typed_words(error)
        return False

    async def _confirmed(self) -> bool:
        """The display shows what will be kept, or something else, which is typed."""
        if self._hearing.told.factor:
            return True

        def asked() -> str:
            return dialhunt.CONFIRM.format(display=self._hearing.display or "?")

        box = QuestionScreen(asked(), dialhunt.CONFIRM_ANSWERS, pedal="yes", now=asked)
        answer = await self._app.push_screen_wait(box)
        return answer == "yes" or (answer == "no" and await self._shown(dialhunt.SHOWN))

    async def _tried(self) -> bool:
        """Fresh lines are read by what is to be kept, while the plunger moves."""
        self._hearing.begin_trial()
        self.words = f"{dialhunt.TRY} {dialhunt.within(TRIAL_S)}"
        await asyncio.sleep(TRIAL_S)
        passed = self._hearing.understood is not None and self._hearing.passed
        self.words = "" if passed else dialhunt.not_kept_words(self._hearing)
        if not passed:
            self._hearing.learn()
        return passed
