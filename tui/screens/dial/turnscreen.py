"""How does the crank's encoder count? It is turned once, clockwise past 12; what is open is asked."""

from typing import Final

from textual import work
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical

from coaxly.logger.angle.turn import Turn, TurnError, typed_count
from coaxly.logger.line.listen import settings_to_try
from coaxly.logger.profile import Profile

from ...draw.setuppicture import draw_turn
from ...job.many.oneport import EncoderEar
from ...say.turning import AGAIN, ASK_WRAP, NOT_SO_MANY, SET, THEN, TITLE, counts_question, ear_words
from ...widgets.bigwords import BigWords
from ...widgets.textlines import Lines
from ..sheet import Key, ListeningSheet
from ..small.askscreens import AskScreen, QuestionScreen

_SETTING_S: Final = 1.5
"""How long it is listened to at one line setting: an encoder may speak only while it turns."""
_USUAL_ANSWERS: Final = [("y,enter", "yes", "yes"), ("n", "no", "no: type it")]


class TurnScreen(ListeningSheet[Profile | None]):
    """Dismissed with how the encoder talks and counts, or None."""

    TOPIC = "encoder"
    DEFAULT_CSS = """
    TurnScreen #side { width: 60%; }
    TurnScreen #large { height: 7; margin: 0 0 1 0; }
    TurnScreen.low #large { display: none; }
    TurnScreen #todo { height: auto; text-style: bold; color: $primary; margin: 0 0 1 0; }
    TurnScreen #said { height: auto; color: $warning; text-style: bold; margin: 0 0 1 0; }
    TurnScreen #port { height: auto; color: $secondary; }
    """

    def __init__(self, port: str) -> None:
        """The port of the encoder; nothing is opened yet."""
        super().__init__()
        self.ear = EncoderEar(port, list(settings_to_try()), _SETTING_S)
        self.turning = False
        self._said = ""

    async def _listen(self) -> None:
        await self.ear.listen()

    def title_words(self) -> str:
        """What is learnt, whence it is seen."""
        return TITLE

    def keys(self) -> list[Key]:
        """The one key, out."""
        return [("Space", "it stands there" if self.turning else "begin"), ("Q", "back")]

    def body(self) -> ComposeResult:
        """The picture; beside it the newest value and what to do."""
        with Horizontal(id="below"):
            yield self.picture(draw_turn, self.turning)
            with Vertical(id="side"):
                yield BigWords(self.app.glyphs, id="large")
                yield Lines(id="todo")
                yield Lines(self._said, id="said")
                yield Lines(id="port")
        self.call_after_refresh(self._look)

    def _look(self) -> None:
        ear = self.ear
        for large in self.query("#large").results(BigWords):
            large.show("" if ear.value is None else f"{ear.value:.0f}")
        self.tell("port", ear_words(ear))
        self.tell("todo", (THEN if self.turning else SET) if ear.hearing.speaks else "")

    def go_on(self) -> None:
        """The turn begins, or is over."""
        if not self.ear.hearing.speaks:
            return
        if self.turning:
            self._learn()
            return
        self.ear.hearing.begin()
        self._at(turning=True)

    def _at(self, *, turning: bool, said: str = "") -> None:
        self.turning, self._said = turning, said
        self.redraw()

    @work
    async def _learn(self) -> None:
        """What the turn told, and what is asked of it."""
        try:
            line, turn = self.ear.hearing.turned()
            counts = await self._counts(turn)
            if counts is None:
                self._at(turning=False)
                return
            turn.told(counts)
            if (wrap := turn.wrap(counts)) is None:
                wrap = await self._number(ASK_WRAP) or 0.0
            self.dismiss(turn.kept(line, counts, wrap))
        except TurnError as error:
            self._at(turning=False, said=f"! {error}. {AGAIN}")

    async def _counts(self, turn: Turn) -> float | None:
        """Counts for one turn, said by a person; None where nobody says them."""
        words = counts_question(turn, "Y")
        if turn.usual:
            answer = await self.app.push_screen_wait(QuestionScreen(words, _USUAL_ANSWERS, pedal="yes"))
            if answer != "no":
                return float(turn.usual) if answer else None
        return await self._number(words)

    async def _number(self, words: str) -> float | None:
        """A number of counts that is typed; None for nothing."""
        while text := await self.app.push_screen_wait(AskScreen(words)):
            if (number := typed_count(text)) is not None:
                return number
            words = NOT_SO_MANY
        return None
