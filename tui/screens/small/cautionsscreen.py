"""What can hurt somebody, on one page: one key away from everywhere, or before the step where it can."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from ...say.cautions import PROCEDURE, Step, cautions
from ...widgets.bigwords import BigWords
from ...widgets.textlines import KeyLine, Lines
from ..base import CoaxlyScreen, more


class CautionsScreen(CoaxlyScreen[bool]):
    """True: read, go on; False: back. With a step, only what can hurt there."""

    AUTO_FOCUS = None
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space,enter,pagedown", "answer(True)", "Read", priority=True),
        Binding("q,escape,c,f5", "answer(False)", "Back", priority=True),
    ]
    DEFAULT_CSS = """
    CautionsScreen #title { color: $warning; }
    CautionsScreen #large { height: 30%; min-height: 5; margin: 0 1; }
    CautionsScreen #said { height: 1fr; padding: 0 1; }
    CautionsScreen #text { max-width: 110; }
    """

    def __init__(self, step: Step | None = None) -> None:
        """step: what is about to be done; None: everything, and the order of the job."""
        super().__init__()
        self._step = step

    def compose(self) -> ComposeResult:
        """Title, the cautions by step, keys."""
        lines = cautions(self._step)
        if self._step is None:
            lines += ["THE ORDER OF THE JOB", *(f"  {line}" for line in PROCEDURE)]
        yield Lines("! CAUTIONS: what can hurt, and where", id="title")
        if self._step is not None:
            yield BigWords(self.app.glyphs, "CAUTION", style="unsure", id="large")
        yield more(Lines("\n".join(lines), id="text"), id="said")
        yield KeyLine(self._keys(), id="keys")

    def on_resize(self) -> None:
        """What it says may be longer than its room now."""
        self.call_after_refresh(lambda: self.tell("keys", self._keys()))

    def _keys(self) -> str:
        on = "Space I have read this" if self._step else "Space back"
        return "   ".join([on, *["Up, Down more"] * self.rolls(), "Q back"])

    def on_mount(self) -> None:
        """Whatever the pedal presses has read them."""
        self.bind_pedal("answer(True)")
