"""Which line is my dial? Every port is listened to at once; the one that moves when the plunger is moved."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import ClassVar, Final

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from coaxly.logger.line.listen import Understood

from ...job.many.oneport import Ear, Ears
from ...say.smallwords import capital
from ...say.sweep.dialhunt import ASK_PORT, KEYS, ear_line, what_to_do
from ...widgets.bigwords import BigWords
from ...widgets.picklist import PickList
from ...widgets.textlines import KeyLine, Lines
from ..base import CoaxlyScreen
from ..small.askscreens import AskScreen
from .dialquestions import DialQuestions

_REDRAW_S: Final = 0.2
_PORTS_EVERY: Final = 10
"""Redraws between two looks at which ports there are."""


@dataclass(frozen=True)
class Heard:
    """The dial that was found: its port, and what its lines hold. None for readings typed by hand. encoder:
    it is no dial, but the crank's encoder, which is to be learnt."""

    port: str = ""
    understood: Understood | None = None
    encoder: bool = False


class FindDialScreen(CoaxlyScreen[Heard | None]):
    """Dismissed with the dial, or None."""

    TOPIC = "instruments"
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "pick(1)", "Next"),
        Binding("up", "pick(-1)", "Before"),
        Binding("p", "type_port", "Port"),
        Binding("a", "ask", "Ask"),
        Binding("e", "encoder", "Encoder"),
        Binding("t", "typed", "Typed"),
    ]
    DEFAULT_CSS = """
    FindDialScreen.low #large { display: none; }
    FindDialScreen #large { height: 7; margin: 1 0 1 0; }
    FindDialScreen.tall #large { height: 11; }
    FindDialScreen.huge #large { height: 20; }
    FindDialScreen #todo { height: auto; padding: 0 1; margin: 0 0 1 0; color: $primary; text-style: bold; }
    FindDialScreen #said { height: auto; padding: 0 1; color: $secondary; }
    """

    def __init__(self, there: Callable[[], Sequence[str]], said: str = "") -> None:
        """there: names of the ports that there are now. said: why a dial is looked for."""
        super().__init__()
        self._ears, self._said = Ears(there), said
        self._picked: str | None = None
        self._asking: DialQuestions | None = None
        self._note = ""
        self._redraws = 0
        self._pressed = time.monotonic()

    def compose(self) -> ComposeResult:
        """The number that moves above, the ports below."""
        yield Lines("Find my dial: which line is it?", id="title")
        yield BigWords(self.app.glyphs, id="large")
        yield Lines(id="todo")
        said = Lines(self._said, id="said")
        said.display = bool(self._said)
        yield said
        yield PickList(id="ports")
        yield KeyLine(KEYS, id="keys")

    def on_mount(self) -> None:
        """Listen, and show what is heard."""
        self.bind_pedal("take", priority=False)
        self.set_interval(_REDRAW_S, self.redraw)
        self.redraw()

    def on_resize(self) -> None:
        """Larger where there is room."""
        self.grow()

    async def on_unmount(self) -> None:
        """The ports are free again when the next page opens one."""
        await self._ears.close()

    @property
    def picked(self) -> Ear | None:
        """The port that was picked, else the one that moves most, else one that speaks."""
        ears = self._ears.ears
        chosen = next((ear for ear in ears if ear.port == self._picked), None)
        if chosen is not None or not ears:
            return chosen
        return max(ears, key=lambda ear: (ear.hearing.moved, ear.state == "speaks"))

    def redraw(self) -> None:
        """What is heard now."""
        if self._redraws % _PORTS_EVERY == 0:
            self._ears.look()
        self._redraws += 1
        ears, picked = self._ears.ears, self.picked
        large, todo = what_to_do(ears, picked)
        if picked is not None:
            todo = (self._asking.words if self._asking is not None else self._note) or todo
        self.query_one("#large", BigWords).show(large)
        self.tell("todo", todo)
        at = ears.index(picked) if picked is not None else 0
        self.query_one(PickList).show(len(ears), lambda k, width: ear_line(ears[k], width), at)

    def action_pick(self, way: int) -> None:
        """Another port."""
        ears, picked = self._ears.ears, self.picked
        if picked is not None:
            self._note = ""
            self._picked = ears[min(max(ears.index(picked) + way, 0), len(ears) - 1)].port
            self.redraw()

    def action_take(self) -> None:
        """This one, once its lines make sense and all questions about them are answered."""
        held, ear = self.is_held(), self.picked
        if held or ear is None or ear.hearing.understood is None or ear.hearing.understood.says:
            return
        if self._asking is not None:
            self._asking.done()
        else:
            self._ask_about(ear)

    @work
    async def _ask_about(self, ear: Ear) -> None:
        """One question after the other; what was kept after a trial is the answer."""
        self._picked = ear.port
        self._note = ""
        self._asking = DialQuestions(self.app, ear.hearing)
        try:
            if await self._asking.settled():
                self.dismiss(Heard(ear.port, ear.hearing.understood))
        finally:
            self._note, self._asking = capital(self._asking.words), None

    @work
    async def action_type_port(self) -> None:
        """A port that is not listed."""
        name = await self.app.push_screen_wait(AskScreen(ASK_PORT))
        if name:
            self._ears.add(name, typed=True)
            self._picked = name

    def action_ask(self) -> None:
        """Ask ports as well: some dials only answer."""
        self._ears.ask()

    def action_encoder(self) -> None:
        """This one is no dial, but the crank's encoder."""
        if self.picked is not None:
            self.dismiss(Heard(self.picked.port, encoder=True))

    def action_typed(self) -> None:
        """No dial on a line."""
        self.dismiss(Heard())
